// SPDX-License-Identifier: MIT
#include "synth/band_noise.h"
#include "synth/events.h"
#include "synth/random.h"
#include "support/suite.h"

#include <math.h>

START_TEST(generator_gives_the_known_first_numbers)
{
    // Source (worked apart): from the definition by hand, state 1, 2, 3, 4: rotl(2·5, 7)·9 = 11520;
    // then s = {7, 0, 262146, rotl(6, 45)}: 0; then s[1] = 0 ^ 262146 ^ 0 …
    DwRandom random = {.state = {1, 2, 3, 4}, .spare = NAN};
    ck_assert_uint_eq(dw_random_bits(&random), 11520);
    ck_assert_uint_eq(dw_random_bits(&random), 0);
    // s = {7, 0, 2^18 + 2, 6·2^45}: after the step s[2] ^= s[0], s[3] ^= s[1],
    // s[1] ^= s[2] gives 7 ^ (2^18 + 2) = 262149, and rotl(262149·5, 7)·9.
    ck_assert_uint_eq(dw_random_bits(&random), 262149ull * 5 * 128 * 9);
    // Source (published): the fourth as the reference code gives it, value from memory.
    ck_assert_uint_eq(dw_random_bits(&random), 1215971899390074240ull);
}
END_TEST

START_TEST(normal_values_have_the_moments_of_a_normal_law)
{
    DwRandom random;
    dw_random_init(&random, 7, DW_STREAM_NOISE_LEFT);
    enum { COUNT = 400000 };
    double sums[5] = {0};
    size_t beyond_two = 0;
    for (int i = 0; i < COUNT; i++) {
        double value = dw_random_normal(&random), power = 1;
        beyond_two += fabs(value) > 2;
        for (int k = 1; k < 5; k++)
            sums[k] += (power *= value) / COUNT;
    }
    // Five standard errors of each: √(1/N), √(2/N), √(15/N), √(96/N).
    ck_assert_double_eq_tol(sums[1], 0, 5 * sqrt(1.0 / COUNT));
    ck_assert_double_eq_tol(sums[2], 1, 5 * sqrt(2.0 / COUNT));
    ck_assert_double_eq_tol(sums[3], 0, 5 * sqrt(15.0 / COUNT));
    ck_assert_double_eq_tol(sums[4], 3, 5 * sqrt(96.0 / COUNT));
    ck_assert_double_eq_tol((double)beyond_two / COUNT, erfc(M_SQRT2), 5 * sqrt(0.0455 / COUNT));
}
END_TEST

START_TEST(streams_and_seeds_are_unlike)
{
    enum { COUNT = 100000 };
    DwRandom one, other, next;
    dw_random_init(&one, 1, DW_STREAM_NOISE_LEFT);
    dw_random_init(&other, 1, DW_STREAM_NOISE_RIGHT);
    dw_random_init(&next, 2, DW_STREAM_NOISE_LEFT);
    double with_other = 0, with_next = 0;
    for (int i = 0; i < COUNT; i++) {
        double value = dw_random_normal(&one);
        with_other += value * dw_random_normal(&other) / COUNT;
        with_next += value * dw_random_normal(&next) / COUNT;
    }
    ck_assert_double_eq_tol(with_other, 0, 5 / sqrt(COUNT));
    ck_assert_double_eq_tol(with_next, 0, 5 / sqrt(COUNT));
}
END_TEST

START_TEST(band_noise_keeps_its_strength_and_its_band)
{
    // Against the power of the squared response of two second-order
    // Butterworth sections, 1/(1 + (f/h)⁴) and 1/(1 + (l/f)⁴), in 50 … 100 Hz
    // over that in all frequencies (summed here step by step).
    double inside = 0, all = 0;
    for (double f = 0.05; f < 500; f += 0.1) {
        double response = 1 / (1 + pow(f / 50, 4)) / (1 + pow(5 / f, 4));
        all += response;
        if (f > 50 && f < 100)
            inside += response;
    }
    DwBandNoise noise;
    dw_band_noise_init(&noise, 3, DW_STREAM_RUMBLE_LATERAL, 5, 50, 1000);
    enum { SECONDS = 400 };
    double power = 0, band = 0;
    for (int second = 0; second < SECONDS; second++) {
        double values[1000];
        for (int i = 0; i < 1000; i++) {
            values[i] = dw_band_noise_next(&noise);
            power += values[i] * values[i] / (1000.0 * SECONDS);
        }
        for (int f = 51; f < 100; f += 4) { // every fourth line stands for four
            double real = 0, imaginary = 0;
            for (int i = 0; i < 1000; i++) {
                real += values[i] * cos(2 * M_PI * f * i / 1000) / 1000;
                imaginary += values[i] * sin(2 * M_PI * f * i / 1000) / 1000;
            }
            band += 4 * 2 * (real * real + imaginary * imaginary) / SECONDS;
        }
    }
    // 400 s of some 50 Hz hold about 2·50·400 free values: 0.7 % standard error.
    ck_assert_double_eq_tol(power, 1, 0.035);
    ck_assert_double_eq_tol(band, inside / all, 0.15 * inside / all);
}
END_TEST

START_TEST(events_come_as_often_as_asked_and_never_too_close)
{
    DwEvents events;
    dw_events_init(&events, 11, DW_STREAM_TICK_TIMES, 1e-3, 300, 0);
    double last = -INFINITY;
    enum { COUNT = 20000 };
    for (int i = 0; i < COUNT; i++) {
        double now = dw_events_take(&events);
        ck_assert_double_ge(now - last, 300);
        last = now;
    }
    // Mean distance 1000, standard deviation 700 (half a frame from rounding up).
    ck_assert_double_eq_tol(last / COUNT, 1000.5, 5 * 700 / sqrt(COUNT));
    dw_events_init(&events, 11, DW_STREAM_TICK_TIMES, 0, 300, 0);
    ck_assert(isinf(dw_events_take(&events)));
}
END_TEST

DW_SUITE("random", generator_gives_the_known_first_numbers, normal_values_have_the_moments_of_a_normal_law,
         streams_and_seeds_are_unlike, band_noise_keeps_its_strength_and_its_band,
         events_come_as_often_as_asked_and_never_too_close)
