// SPDX-License-Identifier: MIT
#include "dsp/knee_fit.h"

#include "support/suite.h"

#include <math.h>

enum { POINTS = 60, KNEE = 35 };

// A level of 1 that swings by 1 % twice in 9 s, and from the knee on comes down by 2 % a second and a half of one by
// its square.
static void draw(double *seconds, double *values)
{
    for (size_t i = 0; i < POINTS; i++) {
        seconds[i] = 0.2 * (double)i;
        double after = i > KNEE ? seconds[i] - 0.2 * KNEE : 0;
        values[i] = 1 + 0.01 * sin(2 * M_PI * 2 / 9 * seconds[i] + 0.3) - 0.02 * after - 0.005 * after * after;
    }
}

START_TEST(the_knee_leaves_nothing_over)
{
    double seconds[POINTS], values[POINTS], fall, least = INFINITY;
    draw(seconds, values);
    const DwKneePoints points = {seconds, values, POINTS, 2.0 / 9};
    size_t best = 0;
    for (size_t knee = 1; knee + 3 < POINTS; knee++) {
        double left = dw_knee_fit(&points, knee, &fall);
        best = left < least ? knee : best;
        least = fmin(least, left);
    }
    ck_assert_uint_eq(best, KNEE);
    ck_assert_double_lt(least, 1e-20);
    dw_knee_fit(&points, KNEE, &fall);
    ck_assert_double_eq_tol(fall, 0.02 * 4.8 + 0.005 * 4.8 * 4.8, 1e-9); // by hand
}
END_TEST

START_TEST(without_a_knee_there_is_no_fall)
{
    double seconds[POINTS], values[POINTS], fall;
    draw(seconds, values);
    const DwKneePoints points = {seconds, values, POINTS, 2.0 / 9}, level = {seconds, values, KNEE, 2.0 / 9};
    ck_assert_double_gt(dw_knee_fit(&points, POINTS, &fall), 1e-3);
    ck_assert_double_eq(fall, 0);
    ck_assert_double_lt(dw_knee_fit(&level, KNEE, NULL), 1e-20);
}
END_TEST

DW_SUITE("knee_fit", the_knee_leaves_nothing_over, without_a_knee_there_is_no_fall)
