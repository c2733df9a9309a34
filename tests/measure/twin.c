// SPDX-License-Identifier: MIT
// Two plays of noises that the test writes itself, by grooves in closed form.
#include "measure/music/twin.h"
#include "measure/music/twin_fit.h"
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
    double sway_percent;      // peak, of the speed, once in SWAY_S
} Play;

static const double TURN_HZ = 100.0 / 3 / 60, SWAY_S = 40;

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
                       play->wow_percent / 100 * sin(w * t + play->phase) / w +
                       play->sway_percent / 100 * (1 - cos(2 * M_PI * t / SWAY_S)) * SWAY_S / (2 * M_PI);
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

// Where the speed sways, the drift is the straight line through it by least squares, here of a sine in closed form. A
// parabola through the course would weigh the middle more, and tell half as much again.
START_TEST(drift_is_the_line_through_a_speed_that_sways)
{
    static const double sway = 0.05, edge_s = 0.4; // neither end is heard whole
    double w = 2 * M_PI / SWAY_S, from = edge_s, to = LENGTH_S - edge_s, middle = (from + to) / 2;
    double moment =
        -((to - middle) * cos(w * to) - (from - middle) * cos(w * from)) / w + (sin(w * to) - sin(w * from)) / (w * w);
    double drift = 60 * sway * moment * 12 / pow(to - from, 3);
    DwSheet *sheet = dw_sheet_new("twin", "");
    DwMessage message = {""};
    ck_assert_msg(compare(&(Play){.gain = 1, .sway_percent = sway}, &(Play){.gain = 1}, sheet, &message) == DW_OK, "%s",
                  message.text);
    ck_assert_double_eq_tol(value(sheet, "twin.drift"), drift, 0.015);
    dw_sheet_free(sheet);
}
END_TEST

// Over a side a platter whose speed drifts by 0.02 % a minute, and the other deck's with it, comes half a turn out of
// step with its mean rate; its wow is no less for that. The course is written down in closed form.
START_TEST(a_platter_that_drifts_over_a_side_keeps_its_wow)
{
    enum { POINTS = 15000 };
    static DwTwinPoint point[POINTS];
    static const double rise = 2e-4 / 60, peak = 0.09, twice = 0.03;
    static const struct {
        double once, twice;
    } rows[] = {{peak, 0}, {0, twice}};
    for (size_t r = 0; r < sizeof rows / sizeof *rows; r++) {
        double w = 2 * M_PI * TURN_HZ;
        for (int i = 0; i < POINTS; i++) {
            double t = i * DW_TWIN_STEP_S, middle = t - POINTS / 2 * DW_TWIN_STEP_S;
            double angle = w * (t + rise / 2 * middle * middle);
            double ahead = (rows[r].once * sin(angle) + rows[r].twice / 2 * sin(2 * angle)) / 100 / w;
            point[i] = (DwTwinPoint){.at_s = t, .other_s = t + ahead, .quality = 1, .used = true};
        }
        DwTwinCourse course = {.point = point, .count = POINTS, .pieces = 1, .window_s = 0.02, .ratio = 1};
        DwTwinFit fit;
        ck_assert(dw_twin_fit(&course, 1, TURN_HZ, &fit));
        ck_assert_double_eq_tol(fit.line[0].amplitude, rows[r].once, 5e-4);
        ck_assert_double_eq_tol(fit.line[1].amplitude, rows[r].twice, 5e-4);
        ck_assert_double_eq_tol(fit.line[0].rate_hz, TURN_HZ, 2e-5);
    }
}
END_TEST

// Of a short pair whose speed wanders by 0.004 % once in eleven seconds, with wow beside it, the speed is what the
// course gains from end to end; and what both hold without its being heard is in the ±. The course is written down in
// closed form.
START_TEST(speed_of_a_short_pair_is_that_from_end_to_end)
{
    enum { POINTS = 221 };
    static DwTwinPoint point[POINTS];
    static const double wander = 4e-5, wow = 1e-3, faster = 2e-3, unheard_s[] = {0.2, 4};
    double w = 2 * M_PI * TURN_HZ, slow = 2 * M_PI / 11.3, off[2];
    for (int p = 0; p < 4; p++) {
        double begin = wander / slow * cos(p), end = wander / slow * cos(slow * (POINTS - 1) * DW_TWIN_STEP_S + p);
        for (int i = 0; i < POINTS; i++) {
            double t = i * DW_TWIN_STEP_S, ahead = wander / slow * cos(slow * t + p) + wow / w * cos(w * t + 2);
            point[i] = (DwTwinPoint){.at_s = t, .other_s = (1 + faster) * t + ahead, .quality = 1, .used = true};
        }
        for (int u = 0; u < 2; u++) {
            DwTwinCourse course = {.point = point, .count = POINTS, .pieces = 1, .window_s = 0.02, .ratio = 1 + faster};
            course.before_s = course.after_s = unheard_s[u];
            DwTwinFit fit;
            ck_assert(dw_twin_fit(&course, 1 + faster, TURN_HZ, &fit));
            double gained = 100 * (faster + (end - begin) / ((POINTS - 1) * DW_TWIN_STEP_S));
            ck_assert_double_eq_tol(fit.speed, gained, 1.5e-4);
            off[u] = fit.speed_off;
        }
        ck_assert_double_gt(off[1], 3 * off[0]);
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

// Chords of three tones that ring for 1.2 s each, by players who hear one click: each hand of a PERFORMANCE is up to
// 6 ms early or late, and begins the waves where it does.
static double chords_at(double at_s, uint32_t performance)
{
    static const double chord_s = 1.2;
    double sum = 0;
    uint32_t chord = (uint32_t)(at_s / chord_s);
    for (uint32_t tone = 3 * chord; tone < 3 * chord + 3; tone++) {
        double late_s = 0.012 * hashed(tone + 7919 * performance), since = at_s - chord * chord_s - late_s;
        double hz = 150 * pow(2, 2 * hashed(tone * 31 + 5));
        for (uint32_t h = 1; h <= 4 && since > 0; h++)
            sum += exp(-since) * fmin(1, since / 0.02) / h *
                   sin(2 * M_PI * (h * hz * since + hashed(tone * 97 + h + 104729 * performance)));
    }
    return sum;
}

static DwStatus compare_performances(const uint32_t performance[2], DwMessage *message)
{
    static float block[1000];
    DwSheet *sheet = dw_sheet_new("twin", "");
    DwTwin *twin = dw_twin_new((DwTwinSettings){.rate_hz = {RATE, RATE}, .channels = {1, 1}, .speed_rpm = 100.0 / 3});
    for (unsigned which = 0; which < 2; which++)
        for (int n = 0; n < RATE * LENGTH_S / 2; n += 1000) {
            for (int i = 0; i < 1000; i++)
                block[i] = (float)(0.1 * chords_at((n + i) * (which ? 1.004 : 1) / RATE, performance[which]));
            dw_twin_push(twin, which, block, 1000);
        }
    dw_twin_finish(twin);
    DwStatus status = dw_twin_read(twin, sheet, message);
    dw_twin_free(twin);
    dw_sheet_free(sheet);
    return status;
}

START_TEST(another_performance_to_one_click_is_refused)
{
    DwMessage message = {""};
    ck_assert_msg(compare_performances((const uint32_t[]){1, 1}, &message) == DW_OK, "%s", message.text);
    for (uint32_t other = 2; other < 4; other += alike(1, 2)) {
        ck_assert_int_eq(compare_performances((const uint32_t[]){1, other}, &message), DW_BAD_INPUT);
        ck_assert_msg(strstr(message.text, "not the same performance"), "%s", message.text);
    }
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

// The mean of that over the third octaves from LOW to HIGH that SHEET tells, left.
static double told_db(const DwSheet *sheet, double dull, double low_hz, double high_hz)
{
    const DwCurve *curve = dw_sheet_curve(sheet, "response.left");
    double sum = 0, count = 0;
    for (size_t i = 0; i < curve->count; i++)
        if (isfinite(curve->y_values[i]) && curve->x_values[i] > low_hz && curve->x_values[i] < high_hz) {
            sum += passed_db(dull, curve->x_values[i]);
            count++;
        }
    ck_assert_double_gt(count, 2);
    return sum / count;
}

START_TEST(what_a_copy_has_lost_above_is_said)
{
    static const double dulls[] = {0, 0.5, -0.3};
    for (size_t i = 0; i < 3; i += alike(1, 2)) {
        DwSheet *sheet = stereo_sheet(&(Stereo){0.6, {1, 1}, false, dulls[i]});
        double middle = told_db(sheet, dulls[i], 300, 3200), above = told_db(sheet, dulls[i], 3900, RATE / 2);
        ck_assert_double_eq_tol(value(sheet, "twin.treble"), above - middle, 0.6);
        ck_assert_int_eq(remarks(sheet, "Above 4 kHz the second is"), dulls[i] > 0);
        ck_assert_int_eq(remarks(sheet, "Above 4 kHz the first is"), dulls[i] < 0);
        dw_sheet_free(sheet);
    }
}
END_TEST

DW_SUITE("twin", the_worst_turn_is_where_the_speed_swings, speed_and_wow_of_one_against_the_other,
         drift_is_the_line_through_a_speed_that_sways, a_silent_recording_is_called_silent, another_piece_is_refused,
         another_performance_to_one_click_is_refused, how_the_channels_are_wired_is_said,
         what_a_copy_has_lost_above_is_said, a_platter_that_drifts_over_a_side_keeps_its_wow,
         speed_of_a_short_pair_is_that_from_end_to_end)
