// SPDX-License-Identifier: MIT
#include "dsp/fir.h"
#include "dsp/halfband.h"
#include "dsp/sections.h"
#include "support/suite.h"

#include <math.h>
#include <string.h>

static double db(double gain)
{
    return 20 * log10(fabs(gain) + 1e-30);
}

START_TEST(kaiser_lowpass_keeps_its_mask)
{
    DwFir fir = dw_fir_lowpass(0.1, 0.13, 80);
    ck_assert_double_eq_tol(dw_fir_gain(&fir, 0), 1, 1e-12);
    for (double f = 0; f <= 0.1; f += 0.001)
        ck_assert_double_le(fabs(db(dw_fir_gain(&fir, f))), 0.002);
    for (double f = 0.13; f <= 0.5; f += 0.001)
        ck_assert_double_le(db(dw_fir_gain(&fir, f)), -79);
    dw_fir_clear(&fir);
}
END_TEST

START_TEST(running_agrees_with_the_naive_sum)
{
    DwFir fir = dw_fir_lowpass(0.1, 0.2, 60);
    enum { N = 2500 };
    double *x = calloc(N, sizeof *x), *y = calloc(N, sizeof *y);
    for (size_t n = 0; n < N; n++)
        x[n] = sin(0.3 * (double)n) + (double)((n * 7919) % 101) / 50;
    dw_fir_run(&fir, x, y, N);
    size_t half = fir.count / 2;
    for (size_t n = 0; n < N; n++) {
        double sum = 0;
        for (size_t i = 0; i < fir.count; i++) {
            long at = (long)n + (long)i - (long)half;
            sum += fir.taps[i] * x[at < 0 ? 0 : at >= N ? N - 1 : at];
        }
        ck_assert_double_eq_tol(y[n], sum, 1e-12);
    }
    free(x);
    free(y);
    dw_fir_clear(&fir);
}
END_TEST

// A low-pass that undoes a one-sample average's droop.
static double mend(double f, const void *user)
{
    (void)user;
    return f < 0.25 ? 1 / (f > 0 ? sin(M_PI * f) / (M_PI * f) : 1) : 0;
}

START_TEST(a_followed_magnitude_is_met_where_it_is_smooth)
{
    DwFir fir = dw_fir_follow(mend, NULL, 201, 8);
    for (double f = 0; f < 0.23; f += 0.01)
        ck_assert_double_eq_tol(dw_fir_gain(&fir, f), mend(f, NULL), 1e-4);
    for (double f = 0.27; f < 0.5; f += 0.01)
        ck_assert_double_le(fabs(dw_fir_gain(&fir, f)), 1e-3);
    dw_fir_clear(&fir);
}
END_TEST

START_TEST(butterworth_is_three_decibels_down_at_its_corner)
{
    // |H|² = 1/(1 + (f/fc)^2n), Butterworth 1930; far below the rate the warp is nil.
    DwSections low = dw_sections_lowpass(4, 6, 10000), high = dw_sections_highpass(2, 0.115, 1000);
    ck_assert_double_eq_tol(dw_sections_gain(&low, 6, 10000), sqrt(0.5), 1e-9);
    ck_assert_double_eq_tol(dw_sections_gain(&low, 12, 10000), 1 / sqrt(1 + pow(2, 8)), 1e-6);
    ck_assert_double_eq_tol(dw_sections_gain(&high, 0.3, 1000), 1 / sqrt(1 + pow(0.115 / 0.3, 4)), 1e-6);
}
END_TEST

START_TEST(sections_run_as_their_gain_says)
{
    DwSections low = dw_sections_lowpass(4, 50, 1000);
    double samples[4000], peak = 0;
    for (size_t n = 0; n < 4000; n++)
        samples[n] = sin(2 * M_PI * 70 * (double)n / 1000);
    dw_sections_run(&low, samples, 1500);
    dw_sections_run(&low, samples + 1500, 2500); // state carries over
    for (size_t n = 3000; n < 4000; n++)
        peak = fmax(peak, fabs(samples[n]));
    ck_assert_double_eq_tol(peak, dw_sections_gain(&low, 70, 1000), 2e-3);
}
END_TEST

// Runs COUNT samples through in blocks of the given sizes; returns outputs written.
static size_t halve(const float *input, size_t count, size_t block, float *output)
{
    DwHalfband *halfband = dw_halfband_new(0.2, 90);
    size_t written = 0;
    for (size_t at = 0; at < count; at += block)
        written += dw_halfband_push(halfband, input + at, count - at < block ? count - at : block, output + written);
    written += dw_halfband_finish(halfband, output + written);
    dw_halfband_free(halfband);
    return written;
}

START_TEST(halving_keeps_time_level_and_rejects_what_would_fold)
{
    enum { N = 6001 };
    static float tone[N], high[N], out[N + 400];
    for (size_t n = 0; n < N; n++) {
        tone[n] = (float)cos(2 * M_PI * 0.15 * (double)n);
        high[n] = (float)cos(2 * M_PI * 0.33 * (double)n);
    }
    ck_assert_uint_eq(halve(tone, N, 4096, out), (N + 1) / 2);
    for (size_t n = 100; n < N / 2 - 100; n++)
        ck_assert_float_eq_tol(out[n], tone[2 * n], 1e-4f);
    halve(high, N, 4096, out);
    for (size_t n = 100; n < N / 2 - 100; n++)
        ck_assert_float_le(fabsf(out[n]), 5e-5f);
}
END_TEST

START_TEST(block_size_changes_nothing)
{
    enum { N = 3000 };
    static float input[N], one[N], other[N];
    for (size_t n = 0; n < N; n++)
        input[n] = (float)((n * 7919) % 1009) / 1009;
    size_t count = halve(input, N, N, one);
    static const size_t blocks[] = {1, 2, 7, 64, 1023};
    for (size_t i = 0; i < sizeof blocks / sizeof *blocks; i++) {
        ck_assert_uint_eq(halve(input, N, blocks[i], other), count);
        ck_assert(memcmp(one, other, count * sizeof *one) == 0);
    }
}
END_TEST

DW_SUITE("filters", kaiser_lowpass_keeps_its_mask, running_agrees_with_the_naive_sum,
         a_followed_magnitude_is_met_where_it_is_smooth, butterworth_is_three_decibels_down_at_its_corner,
         sections_run_as_their_gain_says, halving_keeps_time_level_and_rejects_what_would_fold,
         block_size_changes_nothing)
