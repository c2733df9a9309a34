// SPDX-License-Identifier: MIT
// Wow found in chords that the test writes itself, in closed form: t + (a/ω)·sin ωt is what a groove has passed.
#include "measure/music/held.h"
#include "support/alike.h"
#include "support/sheet_checks.h"
#include "support/suite.h"

#include <math.h>

enum { RATE = 16000, LENGTH_S = 30 };

typedef struct {
    double wow_percent, faster_percent;
    double vibrato_cents;                        // of every note alike in size, at rates of their own
    double slide_cents;                          // a note
    double belt_percent, belt_times, belt_phase; // beside the wow, at so many times the turn's rate
    bool second_reversed;
    bool drone; // one note all along, and a short one that bends, instead of chords
    double rpm; // 0: 33 1/3
} Music;

static const double TURN_HZ = 100.0 / 3 / 60;

static double turn_hz(const Music *music)
{
    return music->rpm > 0 ? music->rpm / 60 : TURN_HZ;
}

// A chord every three seconds, eight partials a note; each note shakes, if at all, at a rate of its own.
static float sample_at(const Music *music, double seconds)
{
    static const double chords[5][3] = {{220, 277.18, 329.63},
                                        {196, 246.94, 293.66},
                                        {174.61, 220, 261.63},
                                        {233.08, 293.66, 349.23},
                                        {207.65, 261.63, 311.13}};
    double w = 2 * M_PI * turn_hz(music) * (1 + music->faster_percent / 100);
    double belt = music->belt_times * w;
    double groove = seconds * (1 + music->faster_percent / 100) + music->wow_percent / 100 * sin(w * seconds + 0.7) / w;
    if (music->belt_percent > 0)
        groove += music->belt_percent / 100 * sin(belt * seconds + music->belt_phase) / belt;
    size_t chord = (size_t)(groove / 3) % 5;
    double since = fmod(groove, 3), sum = 0, rise = fmin(1, fmin(since, 2.95 - since) / 0.05);
    for (size_t n = 0; n < 3 && rise > 0; n++) {
        double hz = chords[chord][n], shake = 2 * M_PI * (5 + 0.37 * (double)n + 0.11 * (double)chord);
        double depth = music->vibrato_cents / 1200 * M_LN2, slide = music->slide_cents / 1200 * M_LN2 / 2.95;
        // A player's hand does not keep time: the shake wanders by a radian or two.
        double hand = shake * since + 1.8 * sin(2.1 * since + (double)n);
        double phase = hz * (since - depth * cos(hand) / shake + slide * since * since / 2);
        for (int h = 1; h <= 8; h++)
            sum += sin(2 * M_PI * h * phase + h) / h;
    }
    return (float)(0.05 * fmax(rise, 0) * sum);
}

// The partials of a note of HZ that has sounded for SINCE seconds of the groove, BEND % of which come and go.
static double note_at(double hz, double since, double bend, double lasts)
{
    double w = 2 * M_PI * 0.45, sum = 0, rise = fmin(1, fmin(since, lasts - since) / 0.05);
    for (int h = 1; h <= 8 && rise > 0; h++)
        sum += rise * sin(2 * M_PI * h * hz * (since + bend / 100 * sin(w * since) / w) + h) / h;
    return sum;
}

static float drone_at(const Music *music, double seconds)
{
    double w = 2 * M_PI * turn_hz(music), groove = seconds + music->wow_percent / 100 * sin(w * seconds + 0.7) / w;
    return (float)(0.08 * note_at(146.83, groove, 0, LENGTH_S) + 0.04 * note_at(417.3, groove - 12, 0.1, 5));
}

static DwStatus measure(const Music *music, double tuning_hz, DwSheet *sheet, DwMessage *message)
{
    unsigned channels = music->second_reversed ? 2 : 1;
    DwHeld *held = dw_held_new((DwHeldSettings){
        .rate_hz = RATE, .channels = channels, .speed_rpm = 60 * turn_hz(music), .tuning_hz = tuning_hz});
    float block[2 * 1000];
    for (int n = 0; n < RATE * LENGTH_S; n += 1000) {
        for (int i = 0; i < 1000; i++) {
            double seconds = (double)(n + i) / RATE;
            float sample = music->drone ? drone_at(music, seconds) : sample_at(music, seconds);
            for (unsigned c = 0; c < channels; c++)
                block[(unsigned)i * channels + c] = c ? -sample : sample;
        }
        dw_held_push(held, block, 1000);
    }
    dw_held_finish(held);
    DwStatus status = dw_held_read(held, sheet, message);
    dw_held_free(held);
    return status;
}

static DwSheet *sheet_of(const Music *music, double tuning_hz)
{
    DwSheet *sheet = dw_sheet_new("held", "");
    DwMessage message = {""};
    ck_assert_msg(measure(music, tuning_hz, sheet, &message) == DW_OK, "%s", message.text);
    return sheet;
}

START_TEST(wow_is_found_with_its_size_and_phase)
{
    static const double wows[] = {0.05, 0.3, 1};
    for (size_t i = 0; i < 3; i += alike(1, 2)) {
        DwSheet *sheet = sheet_of(&(Music){.wow_percent = wows[i]}, NAN);
        const DwReading *once = dw_sheet_reading(sheet, "revolution.amplitude");
        ck_assert_msg(once != NULL, "%g %% not found", wows[i]);
        ck_assert_double_eq_tol(once->value, wows[i], fmax(0.002, 0.02 * wows[i]));
        // Speed goes as cos(ωt + 0.7).
        ck_assert_double_eq_tol(value(sheet, "revolution.phase"), 0.7 * 180 / M_PI, 5);
        ck_assert(!dw_sheet_reading(sheet, "held.limit"));
        ck_assert(says_not_measured(sheet, "speed.error"));
        dw_sheet_free(sheet);
    }
}
END_TEST

// At 78 rpm a course, whose values are means over a twentieth of a second, keeps 0.7 % less of the wow than there is;
// of notes without any restlessness the interval is one of the method's alone.
START_TEST(nothing_of_quick_wow_is_lost_and_its_interval_is_no_wider_than_it_must_be)
{
    static const double rpm[] = {100.0 / 3, 45, 78};
    for (size_t i = 0; i < 3; i += alike(1, 2)) {
        DwSheet *sheet = sheet_of(&(Music){.wow_percent = 0.4, .rpm = rpm[i]}, NAN);
        const DwReading *once = dw_sheet_reading(sheet, "revolution.amplitude");
        ck_assert_msg(once != NULL, "not found at %g rpm", rpm[i]);
        ck_assert_double_eq_tol(once->value, 0.4, 0.0012);
        ck_assert_double_le(once->uncertainty, 0.01 * 0.4);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(a_belt_near_the_turn_hides_and_turns_nothing)
{
    static const double belts[][2] = {{0.8, -2.2}, {0.8, 0.7}, {0.8, 2.6}, {1.25, -2.2}, {1.25, 0.7}, {1.25, 2.6}};
    for (size_t i = 0; i < sizeof belts / sizeof *belts; i += alike(1, 5)) {
        DwSheet *sheet = sheet_of(
            &(Music){.wow_percent = 0.06, .belt_percent = 0.06, .belt_times = belts[i][0], .belt_phase = belts[i][1]},
            NAN);
        const DwReading *once = dw_sheet_reading(sheet, "revolution.amplitude");
        ck_assert_msg(once != NULL, "not found beside %g times", belts[i][0]);
        ck_assert_double_eq_tol(once->value, 0.06, 0.004);
        ck_assert_double_eq_tol(value(sheet, "revolution.phase"), 0.7 * 180 / M_PI, 5);
        dw_sheet_free(sheet);
    }
}
END_TEST

// By what is left where the one note is left out no wow could be told from none; by the stretches of the note it can.
START_TEST(one_note_that_tells_nearly_all_is_enough)
{
    DwSheet *sheet = sheet_of(&(Music){.wow_percent = 0.13, .drone = true}, NAN);
    const DwReading *once = dw_sheet_reading(sheet, "revolution.amplitude");
    ck_assert_msg(once != NULL, "not found");
    ck_assert_double_eq_tol(once->value, 0.13, 0.004);
    dw_sheet_free(sheet);
    sheet = sheet_of(&(Music){.drone = true}, NAN);
    ck_assert(says_not_measured(sheet, "revolution.amplitude"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(none_is_not_found_and_its_limit_is_told)
{
    DwSheet *sheet = sheet_of(&(Music){0}, NAN);
    ck_assert(says_not_measured(sheet, "revolution.amplitude"));
    ck_assert_double_lt(value(sheet, "held.limit"), 0.02);
    ck_assert_double_ge(value(sheet, "held.limit"), 0);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(a_reversed_channel_does_not_silence_it)
{
    DwSheet *sheet = sheet_of(&(Music){.wow_percent = 0.2, .second_reversed = true}, NAN);
    ck_assert_double_eq_tol(value(sheet, "revolution.amplitude"), 0.2, 0.004);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(a_stated_tuning_tells_the_speed)
{
    static const double faster[] = {-0.8, 0.6};
    for (size_t i = 0; i < 2; i++) {
        DwSheet *sheet = sheet_of(&(Music){.wow_percent = 0.1, .faster_percent = faster[i]}, 440);
        ck_assert_double_eq_tol(value(sheet, "speed.error"), faster[i], 0.1);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(what_only_shakes_or_slides_is_refused_with_its_reason)
{
    static const struct {
        Music music;
        const char *reason;
    } rows[] = {{{.wow_percent = 0.1, .vibrato_cents = 40}, "vibrato"},
                {{.wow_percent = 0.1, .slide_cents = 300}, "slide"}};
    for (size_t i = 0; i < 2; i++) {
        DwSheet *sheet = dw_sheet_new("held", "");
        DwMessage message = {""};
        ck_assert_int_eq(measure(&rows[i].music, NAN, sheet, &message), DW_BAD_INPUT);
        ck_assert_msg(strstr(message.text, rows[i].reason) != NULL, "%s", message.text);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(silence_is_refused)
{
    DwHeld *held = dw_held_new((DwHeldSettings){.rate_hz = RATE, .channels = 1, .speed_rpm = 45, .tuning_hz = NAN});
    static const float silence[4000];
    DwMessage message = {""};
    dw_held_push(held, silence, 4000);
    dw_held_finish(held);
    ck_assert_int_eq(dw_held_read(held, NULL, &message), DW_BAD_INPUT);
    ck_assert(strstr(message.text, "No note is held"));
    dw_held_free(held);
}
END_TEST

DW_SUITE("held", wow_is_found_with_its_size_and_phase,
         nothing_of_quick_wow_is_lost_and_its_interval_is_no_wider_than_it_must_be,
         a_belt_near_the_turn_hides_and_turns_nothing, one_note_that_tells_nearly_all_is_enough,
         none_is_not_found_and_its_limit_is_told, a_reversed_channel_does_not_silence_it,
         a_stated_tuning_tells_the_speed, what_only_shakes_or_slides_is_refused_with_its_reason, silence_is_refused)
