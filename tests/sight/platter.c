// SPDX-License-Identifier: MIT
#include "sight/platter.h"

#include "support/suite.h"

#include <math.h>
#include <stdlib.h>

enum { FRAMES = 900 };

static const double nominal = 2 * M_PI / 1.8; // 33⅓ rpm

// Noise of known size, the same in each run.
static double noise(unsigned *state)
{
    double sum = 0;
    for (int i = 0; i < 12; i++) {
        *state = *state * 1664525u + 1013904223u;
        sum += *state / 4294967296.0;
    }
    return sum - 6;
}

typedef struct {
    double time_s[FRAMES], turn[FRAMES];
} Frames;

// A platter 0.12 % fast that drifts by 0.05 % a minute, with 0.1 % once a turn and 0.05 % at 4.17 Hz.
static DwPlatterCourse steady(Frames *frames, double noise_rad)
{
    unsigned state = 7;
    for (int i = 0; i < FRAMES; i++) {
        double t = frames->time_s[i] = i / 30.0 + 0.003 * sin(i * 1.7), rate = nominal * 1.0012;
        double even = rate * (t + 0.0005 / 60 * (t - 15) * (t - 15) / 2);
        frames->turn[i] = even + 0.001 * sin(even + 0.6) +
                          0.0005 * rate / (2 * M_PI * 4.17) * sin(2 * M_PI * 4.17 * t) + noise_rad * noise(&state);
    }
    return (DwPlatterCourse){frames->time_s, frames->turn, FRAMES};
}

START_TEST(a_steady_platter_is_read)
{
    Frames frames;
    DwPlatterMotion motion;
    DwPlatterCourse course = steady(&frames, 1e-4);
    ck_assert(dw_platter_motion(&course, 0.01, &motion));
    ck_assert_double_eq_tol(motion.rate / nominal - 1, 0.0012, 5e-6);
    ck_assert_double_eq_tol(motion.drift_per_min, 0.0005, 3e-5);
    ck_assert_double_eq_tol(motion.harmonic[0], 0.001, 2e-5);
    ck_assert_double_lt(motion.harmonic[1], 4e-5);
    ck_assert_uint_ge(motion.line_count, 1);
    ck_assert_double_eq_tol(motion.lines[0].hz, 4.17, 0.003);
    ck_assert_double_eq_tol(motion.lines[0].percent, 0.05, 0.003);
}
END_TEST

START_TEST(noise_alone_makes_no_line)
{
    Frames frames;
    DwPlatterMotion motion;
    unsigned state = 3;
    for (int i = 0; i < FRAMES; i++) {
        frames.time_s[i] = i / 30.0;
        frames.turn[i] = nominal * frames.time_s[i] + 1e-4 * noise(&state);
    }
    DwPlatterCourse course = {frames.time_s, frames.turn, FRAMES};
    ck_assert(dw_platter_motion(&course, 0.01, &motion));
    ck_assert_uint_eq(motion.line_count, 0);
    ck_assert_double_lt(motion.harmonic[0], motion.harmonic_doubt * 1.5);
}
END_TEST

// A platter that wanders: its drift is the slope of a straight line through the speed, however the angle bends.
START_TEST(drift_is_the_slope_of_the_speed)
{
    Frames frames;
    DwPlatterMotion motion;
    double slope = 0, square = 0, w = 2 * M_PI / 25;
    for (int i = 0; i < FRAMES; i++) {
        double t = frames.time_s[i] = i / 30.0;
        frames.turn[i] = nominal * (t + 0.001 * sin(w * t + 1) / w);
        slope += (t - FRAMES / 60.0) * 0.001 * cos(w * t + 1);
        square += (t - FRAMES / 60.0) * (t - FRAMES / 60.0);
    }
    DwPlatterCourse course = {frames.time_s, frames.turn, FRAMES};
    ck_assert(dw_platter_motion(&course, 0.01, &motion));
    ck_assert_double_eq_tol(motion.drift_per_min, 60 * slope / square, 1e-4);
}
END_TEST

// Some turns of a platter with no line: what a drift or a wave of less than two turns bends is none.
START_TEST(a_short_film_makes_no_lines)
{
    Frames frames;
    DwPlatterMotion motion;
    static const int counts[] = {75, 240};
    unsigned state = 5;
    for (int i = 0; i < FRAMES; i++) {
        double t = frames.time_s[i] = i / 30.0, even = nominal * t;
        frames.turn[i] = even + 0.001 * sin(even + 0.6) + nominal * 2e-5 * sin(2 * M_PI * 0.17 * t) / (2 * M_PI * 0.17);
        frames.turn[i] += 2e-5 * noise(&state);
    }
    for (size_t i = 0; i < 2; i++) {
        DwPlatterCourse course = {frames.time_s, frames.turn, (size_t)counts[i]};
        ck_assert(dw_platter_motion(&course, 0.01, &motion));
        ck_assert_msg(motion.line_count == 0, "%d frames: %g Hz", counts[i], motion.lines[0].hz);
    }
}
END_TEST

START_TEST(a_start_is_timed)
{
    // A torque that falls with the speed: the platter comes within 1 % after 0.6 s · ln 100.
    Frames frames;
    DwPlatterMotion motion;
    DwPlatterStart start;
    for (int i = 0; i < FRAMES; i++) {
        double t = frames.time_s[i] = i / 30.0, since = fmax(0, t - 2.013);
        frames.turn[i] = nominal * (since - 0.6 * (1 - exp(-since / 0.6)));
    }
    DwPlatterCourse course = {frames.time_s, frames.turn, FRAMES};
    ck_assert(dw_platter_motion(&course, 0.01, &motion));
    ck_assert(dw_platter_start(&course, &motion, 0.01, &start));
    ck_assert_double_eq_tol(start.begins_s, 2.013, 0.05);
    ck_assert_double_eq_tol(start.time_s, 0.6 * log(100), 0.08);
    course = steady(&frames, 1e-4);
    ck_assert(dw_platter_motion(&course, 0.01, &motion));
    ck_assert(!dw_platter_start(&course, &motion, 0.01, &start));
}
END_TEST

// A torque that comes up over 0.4 s: the platter begins to move unseen, 0.2 s before what its run-up points back to.
START_TEST(a_soft_start_is_timed_from_its_beginning)
{
    Frames frames;
    DwPlatterMotion motion;
    DwPlatterStart start;
    unsigned state = 11;
    double reaches = 0;
    const double rise = 0.4,
                 whole = 0.45; // [s], [1/s] of the torque: speed is rate · t² / (2 rise), then a straight line
    for (int i = 0; i < FRAMES; i++) {
        double t = frames.time_s[i] = i / 30.0, u = fmax(0, t - 1.517), at = rise / 2 + 1 / whole;
        double soft =
            u < rise ? u * u * u / (6 * rise) : rise * rise / 6 + rise * (u - rise) / 2 + (u - rise) * (u - rise) / 2;
        double then = rise * rise / 6 + rise * (at - rise) / 2 + (at - rise) * (at - rise) / 2;
        reaches = rise / 2 + 0.99 / whole;
        frames.turn[i] = nominal * (u < at ? whole * soft : whole * then + u - at) + 5e-5 * noise(&state);
    }
    DwPlatterCourse course = {frames.time_s, frames.turn, FRAMES};
    ck_assert(dw_platter_motion(&course, 0.01, &motion));
    ck_assert(dw_platter_start(&course, &motion, 0.01, &start));
    ck_assert_double_eq_tol(start.begins_s, 1.517, 0.03);
    ck_assert_double_eq_tol(start.time_s, reaches, 0.04);
    ck_assert_double_lt(start.doubt_s, 0.06);
}
END_TEST

// A speed that wanders, by many slow waves side by side: they are no lines, and are in the mean and in the drift.
START_TEST(wandering_makes_no_lines)
{
    static const double hz[] = {0.05, 0.09, 0.12, 0.16, 0.19, 0.22, 0.25, 0.28};
    enum { WAVES = sizeof hz / sizeof *hz };
    Frames frames;
    DwPlatterMotion motion;
    unsigned state = 9;
    double slope = 0, square = 0;
    for (int i = 0; i < FRAMES; i++) {
        double t = frames.time_s[i] = i / 30.0, speed = 0;
        frames.turn[i] = nominal * t + 3e-5 * noise(&state);
        for (int k = 0; k < WAVES; k++) {
            double w = 2 * M_PI * hz[k];
            frames.turn[i] += nominal * 3e-5 * sin(w * t + 1.9 * k * k) / w;
            speed += 3e-5 * cos(w * t + 1.9 * k * k);
        }
        slope += (t - FRAMES / 60.0) * speed;
        square += (t - FRAMES / 60.0) * (t - FRAMES / 60.0);
    }
    double mean = (frames.turn[FRAMES - 1] - frames.turn[0]) / frames.time_s[FRAMES - 1];
    DwPlatterCourse course = {frames.time_s, frames.turn, FRAMES};
    ck_assert(dw_platter_motion(&course, 0.01, &motion));
    ck_assert_uint_eq(motion.line_count, 0);
    ck_assert_double_eq_tol(motion.rate / mean, 1, 2e-6);
    ck_assert_double_eq_tol(motion.drift_per_min, 60 * slope / square, 1e-5);
}
END_TEST

START_TEST(missing_frames_are_told)
{
    Frames frames;
    double first_s = 0;
    DwPlatterCourse course = steady(&frames, 1e-4);
    ck_assert_uint_eq(dw_platter_missing(&course, &first_s), 0);
    for (int i = 400; i < FRAMES; i++) // a frame's turning more, the times as if nothing were
        frames.turn[i] += nominal / 30;
    ck_assert_uint_eq(dw_platter_missing(&course, &first_s), 1);
    ck_assert_double_eq_tol(first_s, 399 / 30.0, 0.01);
}
END_TEST

START_TEST(what_stands_is_no_motion)
{
    Frames frames;
    DwPlatterMotion motion;
    for (int i = 0; i < FRAMES; i++) {
        frames.time_s[i] = i / 30.0;
        frames.turn[i] = 0;
    }
    DwPlatterCourse course = {frames.time_s, frames.turn, FRAMES};
    ck_assert(!dw_platter_motion(&course, 0.01, &motion));
}
END_TEST

DW_SUITE("platter", a_steady_platter_is_read, noise_alone_makes_no_line, drift_is_the_slope_of_the_speed,
         a_short_film_makes_no_lines, a_start_is_timed, a_soft_start_is_timed_from_its_beginning,
         wandering_makes_no_lines, missing_frames_are_told, what_stands_is_no_motion)
