// SPDX-License-Identifier: MIT
#include "dsp/least_squares.h"

#include "support/suite.h"

#include <math.h>

enum { POINTS = 41 };
static const double DEVIATION = 0.1, WIDE = 1000; // of the points, and of the unknowns beforehand

static double line(const double *unknowns, double x, const void *user)
{
    (void)user;
    return unknowns[0] + unknowns[1] * x;
}

// The law has no meaning where its second unknown is above nothing.
static double half_line(const double *unknowns, double x, const void *user)
{
    return unknowns[1] > 0 ? NAN : line(unknowns, x, user);
}

static bool fit(double (*law)(const double *, double, const void *), double level, double slope, double *off)
{
    double x[POINTS], y[POINTS], answer[2] = {0, -1}, rest;
    for (size_t i = 0; i < POINTS; i++) {
        x[i] = (double)i - POINTS / 2;
        y[i] = level + slope * x[i];
    }
    const DwLeastSquares problem = {.law = law,
                                    .x = x,
                                    .y = y,
                                    .count = POINTS,
                                    .deviation = DEVIATION,
                                    .unknowns = 2,
                                    .expected_deviation = {WIDE, WIDE}};
    bool found = dw_least_squares(&problem, answer, off, &rest);
    ck_assert_double_eq_tol(answer[0], level, 1e-6);
    ck_assert_double_eq_tol(answer[1], slope, 1e-6);
    return found;
}

// Source (published): C. F. Gauss's variances of a straight line: of its level σ²/n, of its slope σ²/Σx², Σx² = n(n² −
// 1)/12 for whole steps about nothing.
static void check_offs(const double *off)
{
    double n = POINTS;
    ck_assert_double_eq_tol(off[0] / (1.96 * DEVIATION / sqrt(n)), 1, 1e-5);
    ck_assert_double_eq_tol(off[1] / (1.96 * DEVIATION / sqrt(n * (n * n - 1) / 12)), 1, 1e-5);
}

START_TEST(an_unknown_near_nothing_is_known_as_well_as_any)
{
    static const double near[] = {0, 1e-16, -1e-13, 1e-10, 1e-7, 1e-4, 1, 100};
    for (size_t i = 0; i < sizeof near / sizeof *near; i++) {
        double off[2];
        ck_assert(fit(line, near[i], -near[i], off));
        check_offs(off);
    }
}
END_TEST

START_TEST(an_answer_at_the_edge_of_its_law_is_found)
{
    double off[2];
    ck_assert(fit(half_line, 3, -1e-3, off));
    check_offs(off);
}
END_TEST

DW_SUITE("least_squares", an_unknown_near_nothing_is_known_as_well_as_any, an_answer_at_the_edge_of_its_law_is_found)
