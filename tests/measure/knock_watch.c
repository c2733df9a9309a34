// SPDX-License-Identifier: MIT
// Which of some inputs was knocked, by peaks whose truth is known.
#include "measure/live/knock_watch.h"

#include "support/suite.h"

#include <math.h>
#include <stdint.h>

// SECONDS of peaks about LEVEL, with a knock of HEIGHT at AT_S.
static void hear(DwKnockWatch *watch, double seconds, double level, double at_s, double height)
{
    uint64_t seed = 1;
    for (int i = 0; i < (int)(25 * seconds); i++) {
        seed = seed * 6364136223846793005u + 1442695040888963407u; // Knuth's LCG
        float peak = (float)(level * (0.7 + 0.6 * (double)(seed >> 40) / (double)(1 << 24)));
        if (i == (int)(25 * at_s))
            peak = (float)height;
        dw_knock_watch_push(watch, &peak, 1);
    }
}

START_TEST(a_knock_is_told_from_what_plays)
{
    DwKnockWatch quiet = {0}, knocked = {0}, music = {0}, old = {0}, faint = {0}, fresh = {0};
    hear(&quiet, 6, 0.001, 9, 0);
    hear(&knocked, 6, 0.001, 5, 0.1);
    hear(&music, 6, 0.2, 5, 0.35);
    hear(&old, 6, 0.001, 3, 0.1);
    hear(&faint, 6, 0.0001, 5, 0.002); // 26 dB over the rest, and still nothing
    hear(&fresh, 0.5, 0.001, 0.3, 0.1);
    ck_assert_double_eq(dw_knock_watch_height_db(&quiet), 0);
    ck_assert_double_eq_tol(dw_knock_watch_height_db(&knocked), 40, 2);
    ck_assert_double_eq(dw_knock_watch_height_db(&music), 0);
    ck_assert_double_eq(dw_knock_watch_height_db(&old), 0);
    ck_assert_double_eq(dw_knock_watch_height_db(&faint), 0);
    ck_assert_double_eq(dw_knock_watch_height_db(&fresh), 0);
}
END_TEST

START_TEST(a_knock_out_of_silence_is_told)
{
    DwKnockWatch watch = {0};
    hear(&watch, 4, 0, 3, 0.05);
    ck_assert_double_gt(dw_knock_watch_height_db(&watch), 40);
}
END_TEST

START_TEST(the_level_is_that_of_now)
{
    DwKnockWatch watch = {0};
    ck_assert(isnan(dw_knock_watch_level_db(&watch)));
    hear(&watch, 2, 0, 0.5, 0.5);
    ck_assert(isinf(dw_knock_watch_level_db(&watch)));
    hear(&watch, 1, 0, 0.9, 0.5);
    ck_assert_double_eq_tol(dw_knock_watch_level_db(&watch), -6.02, 0.01);
}
END_TEST

START_TEST(only_what_stands_out_alone_has_moved)
{
    ck_assert_uint_eq(dw_knock_watch_which((double[]){0, 30, 0}, 3), 1);
    ck_assert_uint_eq(dw_knock_watch_which((double[]){20, 30, 0}, 3), 1); // the bench carried some of it over
    ck_assert_uint_eq(dw_knock_watch_which((double[]){27, 30, 0}, 3), 3);
    ck_assert_uint_eq(dw_knock_watch_which((double[]){0, 0, 0}, 3), 3);
    ck_assert_uint_eq(dw_knock_watch_which(NULL, 0), 0);
}
END_TEST

DW_SUITE("knock_watch", a_knock_is_told_from_what_plays, a_knock_out_of_silence_is_told, the_level_is_that_of_now,
         only_what_stands_out_alone_has_moved)
