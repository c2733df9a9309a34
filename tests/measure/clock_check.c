// SPDX-License-Identifier: MIT
// The check of a sampling clock on block arrivals with known truth.
#include "measure/live/clock_check.h"

#include "support/suite.h"

#include <math.h>
#include <stdint.h>

// Blocks of 10 ms from a clock ERROR_PPM fast, each late by 2 ms and an
// exponential delay of 3 ms mean (Knuth's LCG, "The Art of Computer Programming").
static DwClockReading check_over(double seconds, double error_ppm, uint64_t seed, bool *known)
{
    DwClockCheck check;
    dw_clock_check_start(&check, 48000);
    double time = 0, last = 0;
    for (double frames = 480; time < seconds + 5; frames += 480) {
        seed = seed * 6364136223846793005u + 1442695040888963407u;
        double chance = ((double)(seed >> 11) + 0.5) / 9007199254740992.0;
        time = 5 + frames / (48000 * (1 + error_ppm * 1e-6)) + 0.002 - 0.003 * log(chance);
        last = time > last ? time : last; // they come in order
        dw_clock_check_push(&check, last, frames);
    }
    DwClockReading reading = {0};
    *known = dw_clock_check_read(&check, &reading);
    return reading;
}

START_TEST(the_error_comes_back_within_its_interval)
{
    static const double errors[] = {-120, -3, 0, 0.5, 47, 2000};
    for (size_t i = 0; i < sizeof errors / sizeof *errors; i++)
        for (uint64_t seed = 1; seed <= 5; seed++) {
            bool known;
            DwClockReading reading = check_over(300, errors[i], seed, &known);
            ck_assert(known);
            // An interval of 95 % is missed now and then; not by half as much again in thirty tries.
            ck_assert_msg(fabs(reading.error_ppm - errors[i]) <= 1.5 * reading.off_ppm + 0.01, "%g: %.3f ± %.3f",
                          errors[i], reading.error_ppm, reading.off_ppm);
            ck_assert_double_le(reading.off_ppm, 0.5);
        }
}
END_TEST

START_TEST(the_interval_shrinks_with_time)
{
    bool known;
    double last = INFINITY;
    for (double seconds = 30; seconds <= 4000; seconds *= 4) {
        DwClockReading reading = check_over(seconds, 30, 7, &known);
        ck_assert(known);
        ck_assert_double_lt(reading.off_ppm, last / 3); // T^-1.5, an eighth, at best
        ck_assert_double_eq_tol(reading.over_s, seconds, 0.15 * seconds + 2);
        last = reading.off_ppm;
    }
}
END_TEST

START_TEST(of_late_blocks_the_least_late_count)
{
    // A true clock whose every second block comes half a second late: over the hour that says nothing of its rate.
    DwClockCheck check;
    dw_clock_check_start(&check, 48000);
    for (int second = 0; second < 3000; second++)
        dw_clock_check_push(&check, second + (second % 2 ? 0.5 : 0), 48000.0 * second);
    DwClockReading reading;
    ck_assert(dw_clock_check_read(&check, &reading));
    ck_assert_double_eq_tol(reading.error_ppm, 0, 1e-6);
    ck_assert_double_le(reading.off_ppm, 1e-6);
}
END_TEST

START_TEST(too_short_a_time_says_nothing)
{
    bool known;
    check_over(15, 30, 7, &known);
    ck_assert(!known);
}
END_TEST

DW_SUITE("clock check", the_error_comes_back_within_its_interval, the_interval_shrinks_with_time,
         of_late_blocks_the_least_late_count, too_short_a_time_says_nothing)
