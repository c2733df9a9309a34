// SPDX-License-Identifier: MIT
// Recordings that have fooled a speed measurement. The figures with their truth from a model written
// apart are scripts/coverage's; here stands what a change must not lose.
#include "support/play.h"
#include "support/sheet_checks.h"
#include "support/strayed_tone.h"
#include "support/suite.h"

// A tone of FREQUENCY(second) with the level LEVEL(second), 16 kHz, mono.
static DwSheet *sheet_of(double (*frequency)(double), double seconds, double stated_hz, DwMessage *message)
{
    enum { RATE = 16000 };
    DwSpeedSettings settings = dw_speed_settings(RATE, 1);
    settings.tone_hz = stated_hz;
    DwSpeed *speed = dw_speed_new(settings);
    static float second[RATE];
    double phase = 0;
    for (size_t s = 0; s < (size_t)seconds; s++) {
        for (size_t n = 0; n < RATE; n++) {
            second[n] = (float)(0.3 * sin(2 * M_PI * phase));
            phase = fmod(phase + frequency((double)s + (double)n / RATE) / RATE, 1);
        }
        dw_speed_push(speed, second, RATE);
    }
    dw_speed_finish(speed);
    DwSheet *sheet = dw_sheet_new("speed", "Speed");
    if (dw_speed_read(speed, sheet, message) != DW_OK) {
        dw_sheet_free(sheet);
        sheet = NULL;
    }
    dw_speed_free(speed);
    return sheet;
}

static const double TURN_HZ = 100.0 / 180;

static double two_bands(double t)
{
    return (t < 20 ? 3000 : 3150) * 0.9939 * (1 + 0.001 * cos(2 * M_PI * TURN_HZ * 0.9939 * t));
}

static double a_step(double t)
{
    return 3150 * (t < 20 ? 1.002 : 1.052);
}

static double a_slide(double t)
{
    return 3150 * (1 + 0.04 * t / 40);
}

static double a_sweep(double t)
{
    return 2800 + 700 * t / 40;
}

START_TEST(two_bands_are_two)
{
    static const struct {
        double stated, start;
    } rows[] = {{3150, 20}, {3000, 0}};
    for (size_t i = 0; i < 2; i++) {
        DwMessage message = {""};
        DwSheet *sheet = sheet_of(two_bands, 40, rows[i].stated, &message);
        ck_assert_msg(sheet, "%s", message.text);
        ck_assert_double_eq_tol(reading(sheet, "speed.error"), -0.61, 0.005);
        ck_assert_double_eq_tol(reading(sheet, "tone.start"), rows[i].start, 1);
        ck_assert_uint_eq(dw_sheet_table(sheet, "tone.stretches")->row_count, 2);
        ck_assert(dw_sheet_reading(sheet, "speed.error")->flags & DW_FLAG_UNSTEADY);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(a_step_and_a_slide_are_told_and_a_sweep_is_refused)
{
    DwMessage message = {""};
    DwSheet *sheet = sheet_of(a_step, 40, 3150, &message);
    ck_assert_double_eq_tol(reading(sheet, "speed.error"), 0.2, 0.005);
    ck_assert(dw_sheet_reading(sheet, "speed.error")->flags & DW_FLAG_UNSTEADY);
    dw_sheet_free(sheet);
    sheet = sheet_of(a_slide, 40, 3150, &message);
    ck_assert(dw_sheet_reading(sheet, "speed.error")->flags & DW_FLAG_UNSTEADY);
    ck_assert(says(sheet, "its mean says little"));
    dw_sheet_free(sheet);
    ck_assert_ptr_null(sheet_of(a_sweep, 40, 3150, &message));
    ck_assert_msg(strstr(message.text, "The tone sweeps from 28"), "%s", message.text);
}
END_TEST

// The deck's rate by its tone is sure, what comes once a turn follows an off-centre record that slips about.
static double stepping(double t, const double *at_s, const double *by, size_t steps)
{
    double speed = 1;
    for (size_t i = 0; i < steps; i++)
        speed += t > at_s[i] ? by[i] : 0;
    return 3150 * speed * (1 + 0.0005 * sin(2 * M_PI * TURN_HZ * 0.994 * t));
}

static double one_step(double t)
{
    return stepping(t, (const double[]){18}, (const double[]){0.006}, 1);
}

static double three_steps(double t)
{
    return stepping(t, (const double[]){10, 20, 30}, (const double[]){0.003, 0.003, -0.004}, 3);
}

static double lost_for_a_while(double t)
{
    return stepping(t, (const double[]){20, 22.5}, (const double[]){-0.03, 0.03}, 2);
}

// 33⅓ rpm times what was drawn, by hand.
START_TEST(a_jump_has_its_own_size_and_the_tones_speeds)
{
    static const struct {
        double (*frequency)(double);
        const char *words;
    } rows[] = {
        {one_step, "jumps by +0.60 %, from 33.33 to 33.53 rpm"},
        {three_steps, "At 10.0 s the speed jumps by +0.30 %, from 33.33 to 33.43 rpm"},
        {three_steps, "At 20.0 s the speed jumps by +0.30 %, from 33.43 to 33.53 rpm"},
        {three_steps, "jumps by -0.40 %, from 33.53 to 33.40 rpm"},
        {lost_for_a_while, "the speed left 33.33 rpm and came back"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        DwMessage message = {""};
        DwSheet *sheet = sheet_of(rows[i].frequency, 40, 3150, &message);
        ck_assert_msg(sheet, "%s", message.text);
        ck_assert_msg(says(sheet, rows[i].words), "%s", rows[i].words);
        ck_assert(dw_sheet_reading(sheet, "speed.error")->unjudged);
        ck_assert(says(sheet, "Nothing here is judged"));
        dw_sheet_free(sheet);
    }
}
END_TEST

// What a sprung deck does after each of the knocks at AT_S: it swings, by 0.5 % and four times a second, and dies away.
static double swinging(double t, const double *at_s, size_t knocks)
{
    double sway = 0;
    for (size_t i = 0; i < knocks; i++)
        sway += t > at_s[i] ? 0.005 * exp(-2.5 * (t - at_s[i])) * sin(2 * M_PI * 4 * (t - at_s[i])) : 0;
    return 3150 * sway;
}

static double somebody_walks_by(double t)
{
    return stepping(t, NULL, NULL, 0) + swinging(t, (const double[]){10, 10.6, 11.2, 11.8, 27}, 5);
}

static double knocked_to_another_speed(double t)
{
    return stepping(t, (const double[]){20}, (const double[]){0.002}, 1) + swinging(t, (const double[]){20}, 1);
}

static double held_for_a_moment(double t)
{
    return stepping(t, (const double[]){20, 20.8}, (const double[]){-0.05, 0.05}, 2);
}

// A knock leaves the speed as it was; a speed that goes one way, or does not come back, was lost.
START_TEST(a_knock_is_no_loss_of_speed)
{
    static const struct {
        double (*frequency)(double);
        const char *lost; // what is said, or nothing
    } rows[] = {{somebody_walks_by, NULL},
                {knocked_to_another_speed, "the speed jumps by +0.20 %"},
                {held_for_a_moment, "the speed left 33.33 rpm and came back"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        DwMessage message = {""};
        DwSheet *sheet = sheet_of(rows[i].frequency, 40, 3150, &message);
        ck_assert_msg(sheet, "%s", message.text);
        bool unsteady = dw_sheet_reading(sheet, "speed.error")->flags & DW_FLAG_UNSTEADY;
        ck_assert_msg(unsteady == (rows[i].lost != NULL), "row %zu", i);
        ck_assert_msg(!rows[i].lost || says(sheet, rows[i].lost), "row %zu", i);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(the_platters_own_rate_tells_a_wrong_statement)
{
    DwSheet *sheet = play((const char *const[]){"synth.rate=16kHz", "synth.length=60s", "fault.wow=0.12%", NULL}, 3000);
    ck_assert(says(sheet, "A tone engraved at 3150 Hz fits"));
    ck_assert_double_eq_tol(reading(sheet, "speed.error"), 0, 0.1);
    ck_assert_double_eq_tol(reading(sheet, "record.tone_error"), 5, 0.1);
    ck_assert(dw_sheet_reading(sheet, "speed.error")->flags & DW_FLAG_APPROXIMATE);
    dw_sheet_free(sheet);
    sheet = play((const char *const[]){"synth.rate=16kHz", "synth.length=60s", "fault.wow=0.12%", NULL}, 3150);
    ck_assert(!says(sheet, "wrong"));
    ck_assert_double_eq_tol(reading(sheet, "record.tone_error"), 0, 0.02);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(a_tone_that_may_be_two_is_not_taken_for_one)
{
    DwSheet *sheet =
        play((const char *const[]){"synth.rate=16kHz", "synth.length=30s", "fault.speed_error=-4%", NULL}, NAN);
    ck_assert(isnan(reading(sheet, "speed.error")));
    ck_assert(says(sheet, "is 3000 Hz at +0.80 % or 3150 Hz at -4.00 %"));
    dw_sheet_free(sheet);
    sheet = play(
        (const char *const[]){"synth.rate=16kHz", "synth.length=40s", "fault.speed_error=-4%", "fault.wow=0.1%", NULL},
        NAN);
    ck_assert_double_eq_tol(reading(sheet, "speed.error"), -4, 0.01);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(sliders_and_halves_are_measured)
{
    static const struct {
        const char *operand;
        double percent;
    } rows[] = {{"fault.speed_error=7.9%", 7.9},
                {"fault.speed_error=-9.7%", -9.7},
                {"fault.speed_error=-40%", -40},
                {"fault.speed_error=48%", 48}};
    for (size_t i = 0; i < 4; i++) {
        DwSheet *sheet =
            play((const char *const[]){"synth.rate=24kHz", "synth.length=20s", rows[i].operand, NULL}, 3150);
        ck_assert_double_eq_tol(reading(sheet, "speed.error"), rows[i].percent, 0.005);
        dw_sheet_free(sheet);
    }
}
END_TEST

static double once_alone(double t)
{
    return 0.12 * sin(2 * M_PI * TURN_HZ * t);
}

static double once_and_fast(double t)
{
    return once_alone(t) + 0.02 * sin(2 * M_PI * 4.2 * t + 1) + 0.02 * sin(2 * M_PI * 11.1 * t + 2);
}

static double warped(double t)
{
    return 1 + 0.25 * sin(2 * M_PI * TURN_HZ * t + 1);
}

static double warped_twice(double t)
{
    double sum = 0;
    for (unsigned k = 1; k <= 4; k++)
        sum += 0.09 * sin(2 * M_PI * k * TURN_HZ * t + k);
    return 1 + sum;
}

// In a room the level is a function of the tone's frequency: by the slope at 3150 Hz 12 % for 0.12 %, and as much in
// proportion for what is fast.
static double by_a_room(double t)
{
    return 1 + once_and_fast(t);
}

START_TEST(a_warped_record_is_no_room)
{
    static const struct {
        double (*percent)(double), (*level)(double);
        bool room, either;
    } rows[] = {{once_and_fast, warped, false, false},
                {once_and_fast, warped_twice, false, false},
                {once_alone, warped, false, true},
                {once_and_fast, by_a_room, true, false}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        DwSpeedSettings settings = dw_speed_settings(STRAYED_RATE, 1);
        settings.tone_hz = 3150;
        DwSheet *sheet = strayed_sheet((StrayedTone){3150, 0.0005, 9, 30, rows[i].percent, rows[i].level}, settings);
        ck_assert_msg(remarks(sheet, "through a room") == (rows[i].room || rows[i].either), "row %zu", i);
        ck_assert_msg(remarks(sheet, "or off a badly warped record") == rows[i].either, "row %zu", i);
        bool withheld = isnan(value(sheet, "flutter.weighted.two_sigma"));
        ck_assert_msg(withheld == (rows[i].room || rows[i].either), "row %zu", i);
        dw_sheet_free(sheet);
    }
}
END_TEST

DW_SUITE("speed fooled", a_warped_record_is_no_room, two_bands_are_two,
         a_step_and_a_slide_are_told_and_a_sweep_is_refused, a_jump_has_its_own_size_and_the_tones_speeds,
         a_knock_is_no_loss_of_speed, the_platters_own_rate_tells_a_wrong_statement,
         a_tone_that_may_be_two_is_not_taken_for_one, sliders_and_halves_are_measured)
