// SPDX-License-Identifier: MIT
// Two plays of noises that the test writes itself, by grooves in closed form.
#include "measure/music/twin.h"
#include "measure/music/twin_turns.h"
#include "support/alike.h"
#include "support/sheet_checks.h"
#include "support/suite.h"

#include <math.h>
#include <stdint.h>

enum { RATE = 16000, LENGTH_S = 40 };

typedef struct {
    double faster_percent, wow_percent, phase;
    double from_s, gain;
    uint32_t piece;           // another piece, another music
    double skip_at_s, skip_s; // of the groove
} Play;

static const double TURN_HZ = 100.0 / 3 / 60;

static double hashed(uint32_t n)
{
    n = (n ^ 61) ^ (n >> 16);
    n *= 9;
    n ^= n >> 4;
    n *= 0x27d4eb2d;
    n ^= n >> 15;
    return (double)n / UINT32_MAX;
}

// Plucked tones, five a second, each with frequency, time and strength drawn by its number.
static double groove_at(double g, uint32_t piece)
{
    double sum = 0;
    for (int n = (int)(g * 5) - 7; n <= (int)(g * 5); n++) {
        uint32_t seed = (uint32_t)(n + 1000) * 7 + piece * 100003;
        double since = g - ((double)n + 0.8 * hashed(seed)) / 5;
        if (n < 0 || since < 0 || since > 1.4)
            continue;
        double hz = 200 * pow(2, 3.5 * hashed(seed + 1)), size = 0.3 + hashed(seed + 2);
        for (int h = 1; h <= 4 && h * hz < 5000; h++)
            sum += size * exp(-4 * since) * sin(2 * M_PI * h * hz * since + h) * fmin(1, since / 0.004);
    }
    return sum;
}

static void feed(DwTwin *twin, unsigned which, const Play *play)
{
    static float block[1000];
    double w = 2 * M_PI * TURN_HZ;
    for (int n = 0; n < RATE * LENGTH_S; n += 1000) {
        for (int i = 0; i < 1000; i++) {
            double t = (double)(n + i) / RATE;
            double g = play->from_s + t * (1 + play->faster_percent / 100) +
                       play->wow_percent / 100 * sin(w * t + play->phase) / w;
            if (play->skip_at_s > 0 && g > play->skip_at_s)
                g += play->skip_s;
            block[i] = (float)(0.1 * play->gain * groove_at(g, play->piece));
        }
        dw_twin_push(twin, which, block, 1000);
    }
}

static DwStatus compare(const Play *one, const Play *two, DwSheet *sheet, DwMessage *message)
{
    DwTwin *twin = dw_twin_new((DwTwinSettings){.rate_hz = {RATE, RATE}, .channels = {1, 1}, .speed_rpm = 100.0 / 3});
    feed(twin, 0, one);
    feed(twin, 1, two);
    dw_twin_finish(twin);
    DwStatus status = dw_twin_read(twin, sheet, message);
    dw_twin_free(twin);
    return status;
}

START_TEST(speed_and_wow_of_one_against_the_other)
{
    static const struct {
        Play one, two;
        double speed, once;
    } rows[] = {
        {{.faster_percent = 0.4, .wow_percent = 0.2, .gain = 1}, {.gain = 1, .from_s = 1.5}, 0.4, 0.2},
        {{.gain = 1, .from_s = 2}, {.faster_percent = 6, .wow_percent = 0.1, .gain = 0.5}, 100 * (1 / 1.06 - 1), 0.1},
        {{.wow_percent = 0.15, .gain = 1}, {.wow_percent = 0.15, .phase = M_PI, .gain = -1}, 0, 0.3},
        {{.wow_percent = 0.1, .gain = 1},
         {.faster_percent = -0.5, .gain = 1, .skip_at_s = 18, .skip_s = 1.8},
         100 * (1 / 0.995 - 1),
         0.1},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i += alike(1, 3)) {
        DwSheet *sheet = dw_sheet_new("twin", "");
        DwMessage message = {""};
        ck_assert_msg(compare(&rows[i].one, &rows[i].two, sheet, &message) == DW_OK, "%s", message.text);
        ck_assert_double_eq_tol(value(sheet, "twin.speed"), rows[i].speed, 2e-3);
        ck_assert_double_eq_tol(value(sheet, "twin.revolution"), rows[i].once, 0.01);
        ck_assert_double_eq_tol(value(sheet, "twin.drift"), 0, 0.02);
        double louder_db = 20 * log10(fabs(rows[i].two.gain / rows[i].one.gain));
        ck_assert_double_eq_tol(value(sheet, "twin.level"), louder_db, 0.5);
        ck_assert(remarks(sheet, rows[i].two.gain < 0 ? "polarity reversed" : "the same polarity"));
        ck_assert_int_eq(remarks(sheet, "jumps against"), rows[i].two.skip_s > 0);
        dw_sheet_free(sheet);
    }
}
END_TEST

// The first wows a little, and for two seconds its speed swings twice a second: the worst turn holds that, the
// best does not.
START_TEST(the_worst_turn_is_where_the_speed_swings)
{
    static const double from_s = 22, swing = 0.004, later_s = 1.5;
    static float block[2][1000];
    DwTwin *twin = dw_twin_new((DwTwinSettings){.rate_hz = {RATE, RATE}, .channels = {1, 1}, .speed_rpm = 100.0 / 3});
    DwTwinTurns turns;
    double g = 0;
    for (int n = 0; n < RATE * LENGTH_S; n += 1000) {
        for (int i = 0; i < 1000; i++) {
            double t = (double)(n + i) / RATE;
            double swings = t > from_s && t < from_s + 2 ? swing * sin(2 * M_PI * 2 * t) : 0;
            g += (1 + 0.001 * sin(2 * M_PI * TURN_HZ * t) + swings) / RATE;
            block[0][i] = (float)(0.1 * groove_at(g, 0));
            block[1][i] = (float)(0.1 * groove_at(t + later_s, 0));
        }
        dw_twin_push(twin, 0, block[0], 1000);
        dw_twin_push(twin, 1, block[1], 1000);
    }
    ck_assert(!dw_twin_turns(twin, &turns)); // nothing is matched yet
    dw_twin_finish(twin);
    ck_assert(dw_twin_turns(twin, &turns));
    dw_twin_free(twin);
    ck_assert_double_eq_tol(turns.turn_s, 1.8, 0.02);
    // A turn of 1.8 s within the two seconds, give or take what the course is smoothed by.
    ck_assert_double_gt(turns.worst_s, from_s - 0.6);
    ck_assert_double_lt(turns.worst_s, from_s + 0.8);
    ck_assert_double_eq_tol(turns.worst_other_s, turns.worst_s - later_s, 0.05);
    ck_assert(turns.best_s + turns.turn_s < from_s || turns.best_s > from_s + 2);
    ck_assert_double_gt(turns.worst_percent, 2 * turns.best_percent);
    ck_assert_double_lt(turns.worst_percent, 100 * (swing * M_SQRT1_2 + 0.001)); // no more than was drawn
}
END_TEST

START_TEST(a_silent_recording_is_called_silent)
{
    DwMessage message = {""};
    ck_assert_int_eq(compare(&(Play){.gain = 1}, &(Play){.gain = 0}, NULL, &message), DW_BAD_INPUT);
    ck_assert_msg(strstr(message.text, "The second recording is silent"), "%s", message.text);
}
END_TEST

START_TEST(another_piece_is_refused)
{
    DwSheet *sheet = dw_sheet_new("twin", "");
    DwMessage message = {""};
    ck_assert_int_eq(compare(&(Play){.gain = 1}, &(Play){.gain = 1, .piece = 1}, sheet, &message), DW_BAD_INPUT);
    ck_assert_msg(strstr(message.text, "have no music in common") || strstr(message.text, "not the same performance"),
                  "%s", message.text);
    dw_sheet_free(sheet);
}
END_TEST

typedef struct {
    double common;  // of each piece in the other's channel
    double gain[2]; // of each channel of the second
    bool is_exchanged;
    double dull; // of each sample of the second, what stays of the one before: a low-pass of first order
} Stereo;

// A piece as it is played at a steady RATE_OF_GROOVE: made once for all that play it.
static double *steady(uint32_t piece, double rate_of_groove)
{
    double *track = malloc(RATE * LENGTH_S * sizeof *track);
    for (int n = 0; n < RATE * LENGTH_S; n++)
        track[n] = 0.1 * groove_at((double)n / RATE * rate_of_groove, piece);
    return track;
}

// Two pieces at once, one more to the left, the other more to the right.
static void feed_stereo(DwTwin *twin, unsigned which, const Stereo *stereo)
{
    static double *tracks[2][2]; // of the first play and of the second; they stay to the program's end
    static float block[2 * 1000];
    if (!tracks[which][0]) {
        tracks[which][0] = steady(0, which ? 1.003 : 1);
        tracks[which][1] = steady(5, which ? 1.003 : 1);
    }
    double before[2] = {0, 0}, dull = which ? stereo->dull : 0;
    for (int n = 0; n < RATE * LENGTH_S; n += 1000) {
        for (int i = 0; i < 1000; i++) {
            double a = tracks[which][0][n + i], b = tracks[which][1][n + i];
            double side[2] = {a + stereo->common * b, stereo->common * a + b};
            for (int c = 0; c < 2; c++) {
                int from = which && stereo->is_exchanged ? 1 - c : c;
                before[c] = dull * before[c] + (1 - dull) * side[from];
                block[2 * i + c] = (float)((which ? stereo->gain[c] : 1) * before[c]);
            }
        }
        dw_twin_push(twin, which, block, 1000);
    }
}

static DwTwin *stereo_twin(DwTwinSettings settings, const Stereo *stereo)
{
    DwTwin *twin = dw_twin_new(settings);
    feed_stereo(twin, 0, stereo);
    feed_stereo(twin, 1, stereo);
    dw_twin_finish(twin);
    return twin;
}

START_TEST(how_the_channels_are_wired_is_said)
{
    static const struct {
        Stereo stereo;
        bool asks_again; // what is wide does not tell by itself that a channel is reversed
        const char *said;
        double level_db;
    } rows[] = {{{0.6, {1, 1}, false}, false, "the same polarity", 0},
                {{0.6, {-1, -1}, false}, false, "second has the polarity reversed", 0},
                {{0.2, {1, 1}, true}, false, "channels are exchanged", 0},
                {{0.6, {1, -1}, false}, false, "polarity of the right channel of the second is reversed", 0},
                {{0.2, {-0.5, 0.5}, false}, true, "polarity of the left channel of the second is reversed", -6},
                {{0.2, {1, -1}, false}, true, "polarity of the right channel of the second is reversed", 0},
                {{0.6, {1, 1e-4}, false}, false, "right channel of the second is silent", 0},
                {{0.6, {1e-4, 1}, false}, false, "left channel of the second is silent", 0}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i += alike(1, 4)) {
        DwTwinSettings settings = {.rate_hz = {RATE, RATE}, .channels = {2, 2}, .speed_rpm = 100.0 / 3};
        DwTwin *twin = stereo_twin(settings, &rows[i].stereo);
        bool again = dw_twin_asks_again(twin, &settings);
        ck_assert_int_eq(again, rows[i].asks_again);
        if (again) {
            dw_twin_free(twin);
            twin = stereo_twin(settings, &rows[i].stereo);
            ck_assert(!dw_twin_asks_again(twin, &settings));
        }
        DwSheet *sheet = dw_sheet_new("twin", "");
        DwMessage message = {""};
        ck_assert_msg(dw_twin_read(twin, sheet, &message) == DW_OK, "%s", message.text);
        ck_assert_double_eq_tol(value(sheet, "twin.speed"), 100 * (1 / 1.003 - 1), 2e-3);
        ck_assert_double_eq_tol(value(sheet, "twin.level"), rows[i].level_db, 0.5);
        ck_assert_msg(remarks(sheet, rows[i].said), "row %zu", i);
        ck_assert_int_eq(remarks(sheet, "exchanged: what is left"), rows[i].stereo.is_exchanged);
        ck_assert(!remarks(sheet, "weaker"));
        dw_sheet_free(sheet);
        dw_twin_free(twin);
    }
}
END_TEST

static DwSheet *stereo_sheet(const Stereo *stereo)
{
    DwSheet *sheet = dw_sheet_new("twin", "");
    DwMessage message = {""};
    DwTwin *twin =
        stereo_twin((DwTwinSettings){.rate_hz = {RATE, RATE}, .channels = {2, 2}, .speed_rpm = 100.0 / 3}, stereo);
    ck_assert_msg(dw_twin_read(twin, sheet, &message) == DW_OK, "%s", message.text);
    dw_twin_free(twin);
    return sheet;
}

// How a low-pass that keeps DULL of the sample before passes HZ [dB]: |1 − d| / |1 − d e^(−jω)|.
static double passed_db(double dull, double hz)
{
    double w = 2 * M_PI * hz / RATE;
    return 20 * log10((1 - dull) / hypot(1 - dull * cos(w), dull * sin(w)));
}

START_TEST(what_a_copy_has_lost_above_is_said)
{
    static const double dulls[] = {0, 0.5, -0.3};
    for (size_t i = 0; i < 3; i += alike(1, 2)) {
        DwSheet *sheet = stereo_sheet(&(Stereo){0.6, {1, 1}, false, dulls[i]});
        // The music's attacks reach to 7 kHz; its middle is 300 Hz to 3 kHz.
        double middle = 0,
               above = (passed_db(dulls[i], 4000) + passed_db(dulls[i], 5000) + passed_db(dulls[i], 6300)) / 3;
        for (int third = -5; third <= 5; third++)
            middle += passed_db(dulls[i], 1000 * pow(10, third / 10.0)) / 11;
        ck_assert_double_eq_tol(value(sheet, "twin.treble"), above - middle, 0.6);
        ck_assert_int_eq(remarks(sheet, "Above 4 kHz the second is"), dulls[i] > 0);
        ck_assert_int_eq(remarks(sheet, "Above 4 kHz the first is"), dulls[i] < 0);
        dw_sheet_free(sheet);
    }
}
END_TEST

DW_SUITE("twin", the_worst_turn_is_where_the_speed_swings, speed_and_wow_of_one_against_the_other,
         a_silent_recording_is_called_silent, another_piece_is_refused, how_the_channels_are_wired_is_said,
         what_a_copy_has_lost_above_is_said)
