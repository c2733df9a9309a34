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

DW_SUITE("statistics", quantiles_agree_with_sorting, spread_of_a_small_set)
