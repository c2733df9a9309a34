// SPDX-License-Identifier: MIT
#include "dsp/statistics.h"
#include "support/suite.h"

#include <math.h>

static int ascending(const void *a, const void *b)
{
    float x = *(const float *)a, y = *(const float *)b;
    return (x > y) - (x < y);
}

START_TEST(quantiles_agree_with_sorting)
{
    enum { N = 5003 };
    static float values[N], sorted[N];
    for (size_t round = 0; round < 3; round++) {
        for (size_t i = 0; i < N; i++)
            values[i] = sorted[i] = round == 2 ? 1 : (float)((i * 7919 + round) % 997);
        qsort(sorted, N, sizeof *sorted, ascending);
        for (double share = 0; share <= 1; share += 0.05) {
            double place = share * (N - 1);
            size_t rank = (size_t)place;
            double want = sorted[rank];
            if (rank + 1 < N)
                want += (place - (double)rank) * (double)(sorted[rank + 1] - sorted[rank]);
            ck_assert_double_eq_tol(dw_statistics_quantile(values, N, share), want, 1e-6);
        }
    }
    ck_assert(isnan(dw_statistics_quantile(values, 0, 0.5)));
}
END_TEST

START_TEST(magnitude_of_a_sine_is_right_at_simple_fractions_of_the_rate)
{
    // A sine of peak 1 stays below sin(0.95·π/2) = 0.99692 for 95 % of the time; its average is 2/π.
    enum { N = 8000 };
    static double x[N];
    static const double frequencies[] = {0.004, 0.05, 0.1, 0.15, 0.2};
    for (size_t i = 0; i < 5; i++)
        for (double phase = 0; phase < 0.6; phase += 0.1) {
            for (size_t n = 0; n < N; n++)
                x[n] = sin(2 * M_PI * frequencies[i] * (double)n + phase);
            DwMagnitude magnitude = dw_statistics_magnitude(x, NULL, N, 0.95);
            ck_assert_double_eq_tol(magnitude.quantile, 0.99692, 0.011);
            ck_assert_double_eq_tol(magnitude.average, 2 / M_PI, 0.006);
        }
    unsigned char none[4] = {0};
    ck_assert(isnan(dw_statistics_magnitude(x, none, 4, 0.95).quantile));
}
END_TEST

START_TEST(spread_of_a_small_set)
{
    // Student's t for 4 degrees of freedom, 97.5 %: 2.776 (any table of t).
    const double values[] = {1, 2, 3, 4, 5};
    ck_assert_double_eq_tol(dw_statistics_mean(values, 5), 3, 1e-12);
    ck_assert_double_eq_tol(dw_statistics_deviation(values, 5), sqrt(2.5), 1e-12);
    ck_assert_double_eq_tol(dw_statistics_mean_uncertainty(values, 5), 2.776 * sqrt(2.5 / 5), 1e-3);
    ck_assert(isnan(dw_statistics_mean_uncertainty(values, 1)));
}
END_TEST

DW_SUITE("statistics", quantiles_agree_with_sorting, magnitude_of_a_sine_is_right_at_simple_fractions_of_the_rate,
         spread_of_a_small_set)
