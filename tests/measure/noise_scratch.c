// SPDX-License-Identifier: MIT
// A scratch comes once a turn; dirt does not.
#include "measure/band/noise_scratch.h"
#include "support/suite.h"

#include <math.h>
#include <stdlib.h>

enum { MOST = 400 };
static const double TURN_S = 1.8;

static int by_time(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double evenly(unsigned *state)
{
    *state = *state * 1664525u + 1013904223u;
    return *state / 4294967296.0;
}

// Adds COUNT ticks at random within LENGTH_S.
static size_t add_dirt(double *tick_s, size_t count, size_t dirt, double length_s, unsigned *state)
{
    for (size_t i = 0; i < dirt; i++)
        tick_s[count++] = length_s * evenly(state);
    qsort(tick_s, count, sizeof *tick_s, by_time);
    return count;
}

START_TEST(a_scratch_is_found_among_dirt_at_any_speed_within_a_percent)
{
    double tick_s[MOST];
    for (unsigned seed = 1; seed <= 40; seed++) {
        unsigned state = seed;
        double turn_s = TURN_S * (1 + 0.008 * (2 * evenly(&state) - 1)), first_s = 2 + evenly(&state);
        size_t count = 0, turns = 7;
        for (size_t n = 0; n < turns; n++)
            tick_s[count++] = first_s + (double)n * turn_s + 0.004 * (evenly(&state) - 0.5);
        count = add_dirt(tick_s, count, 8, 16, &state);
        DwScratch scratch = dw_scratch_find(tick_s, count, TURN_S);
        ck_assert_uint_ge(scratch.hits, turns);
        ck_assert_double_eq_tol(scratch.turn_s, turn_s, 0.004); // some dirt keeps step
        ck_assert_uint_ge(scratch.turns, turns);
    }
}
END_TEST

START_TEST(a_scratch_that_is_missed_twice_is_one_still)
{
    double tick_s[MOST];
    size_t count = 0;
    for (size_t n = 0; n < 9; n++)
        if (n != 3 && n != 6)
            tick_s[count++] = 5 + (double)n * TURN_S;
    DwScratch scratch = dw_scratch_find(tick_s, count, TURN_S);
    ck_assert_uint_eq(scratch.hits, 7);
    ck_assert_uint_eq(scratch.turns, 9);
    ck_assert_double_eq_tol(scratch.first_s, 5, 1e-9);
}
END_TEST

START_TEST(dirt_is_no_scratch)
{
    static const size_t dirt[] = {6, 12, 40, 120, 390}; // in 16 s: 22 to 1460 a minute
    double tick_s[MOST];
    for (size_t i = 0; i < sizeof dirt / sizeof *dirt; i++) {
        unsigned named = 0;
        for (unsigned seed = 1; seed <= 200; seed++) {
            unsigned state = 977 * seed;
            size_t count = add_dirt(tick_s, 0, dirt[i], 16, &state);
            named += dw_scratch_find(tick_s, count, TURN_S).hits > 0;
        }
        ck_assert_msg(named <= 4, "%u of 200 with %zu ticks", named, dirt[i]); // two in a hundred
    }
}
END_TEST

START_TEST(the_time_of_a_turn_is_that_of_its_ticks)
{
    double tick_s[MOST];
    for (int off = -9; off <= 9; off += 3) {
        double turn_s = TURN_S * (1 + off / 1000.0 + 0.0004);
        for (size_t n = 0; n < 12; n++)
            tick_s[n] = 3 + (double)n * turn_s;
        ck_assert_double_eq_tol(dw_scratch_find(tick_s, 12, TURN_S).turn_s, turn_s, 1e-9);
    }
}
END_TEST

START_TEST(without_a_speed_nothing_is_named)
{
    const double tick_s[] = {0, 1.8, 3.6, 5.4, 7.2};
    ck_assert_uint_eq(dw_scratch_find(tick_s, 5, 0).hits, 0);
    ck_assert_uint_eq(dw_scratch_find(tick_s, 5, NAN).hits, 0);
    ck_assert_uint_eq(dw_scratch_find(tick_s, 3, 1.8).hits, 0); // three are too few
    ck_assert_uint_eq(dw_scratch_find(tick_s, 0, 1.8).hits, 0);
}
END_TEST

DW_SUITE("measure noise scratch", a_scratch_is_found_among_dirt_at_any_speed_within_a_percent,
         a_scratch_that_is_missed_twice_is_one_still, dirt_is_no_scratch, the_time_of_a_turn_is_that_of_its_ticks,
         without_a_speed_nothing_is_named)
