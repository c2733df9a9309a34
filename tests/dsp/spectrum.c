// SPDX-License-Identifier: MIT
#include "dsp/spectrum.h"
#include "support/suite.h"

#include <math.h>

START_TEST(the_transform_agrees_with_the_naive_sum)
{
    enum { N = 64 };
    float x[N];
    double power[N / 2 + 1];
    for (size_t n = 0; n < N; n++)
        x[n] = (float)((n * 37) % 23) / 23;
    DwFft *fft = dw_fft_new(N);
    dw_fft_power(fft, x, power);
    dw_fft_free(fft);
    for (size_t k = 0; k <= N / 2; k++) {
        double re = 0, im = 0;
        for (size_t n = 0; n < N; n++) {
            double w = (1 - cos(2 * M_PI * (double)n / N)) * 2 / N;
            re += w * (double)x[n] * cos(2 * M_PI * (double)(k * n) / N);
            im -= w * (double)x[n] * sin(2 * M_PI * (double)(k * n) / N);
        }
        ck_assert_double_eq_tol(power[k], re * re + im * im, 1e-12);
    }
}
END_TEST

START_TEST(a_sine_between_bins_is_found)
{
    enum { N = 4096 };
    static double x[N];
    double f = 100.3 / N;
    for (size_t n = 0; n < N; n++)
        x[n] = 0.7 * cos(2 * M_PI * f * (double)n + 0.4);
    DwSpectrum spectrum = dw_spectrum_of(x, N, N);
    ck_assert_double_eq_tol(dw_spectrum_peak_bin(spectrum.power, 100), 100.3, 1e-4);
    dw_spectrum_clear(&spectrum);
    double re, im;
    dw_spectrum_line(x, NULL, N, f, &re, &im);
    ck_assert_double_eq_tol(hypot(re, im), 0.7, 1e-5);
    ck_assert_double_eq_tol(atan2(im, re), 0.4, 1e-4);
}
END_TEST

START_TEST(bins_hold_the_phase_at_the_first_sample)
{
    enum { N = 64, K = 5 };
    float x[N];
    double same[N], bins[N / 2 + 1][2], of_doubles[N / 2 + 1][2];
    for (size_t n = 0; n < N; n++)
        same[n] = x[n] = (float)(0.7 * cos(2 * M_PI * K * (double)n / N + 0.4));
    DwFft *fft = dw_fft_new(N);
    dw_fft_bins(fft, x, bins);
    dw_fft_bins_double(fft, same, of_doubles);
    dw_fft_free(fft);
    ck_assert_double_eq_tol(hypot(bins[K][0], bins[K][1]), 0.7, 1e-6);
    ck_assert_double_eq_tol(atan2(bins[K][1], bins[K][0]), 0.4, 1e-6);
    for (size_t k = 0; k <= N / 2; k++)
        for (size_t i = 0; i < 2; i++)
            ck_assert_double_eq_tol(bins[k][i], of_doubles[k][i], 1e-12);
}
END_TEST

START_TEST(segments_cover_all_samples)
{
    enum { N = 10000 };
    static double x[N];
    for (size_t n = 0; n < N; n++)
        x[n] = cos(2 * M_PI * 0.125 * (double)n);
    DwSpectrum spectrum = dw_spectrum_of(x, N, 1024);
    ck_assert_uint_ge(spectrum.segments, 18);
    ck_assert_double_eq_tol(spectrum.power[128], 1, 1e-9);
    dw_spectrum_clear(&spectrum);
}
END_TEST

DW_SUITE("spectrum", the_transform_agrees_with_the_naive_sum, a_sine_between_bins_is_found,
         bins_hold_the_phase_at_the_first_sample, segments_cover_all_samples)
