// SPDX-License-Identifier: MIT
#include "dsp/statistics.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_statistics_double.h>
#include <gsl/gsl_statistics_float.h>
#include <math.h>

double dw_statistics_quantile(float *values, size_t count, double share)
{
    if (count == 0)
        return NAN;
    double place = share * (double)(count - 1);
    size_t rank = (size_t)place;
    double low = gsl_stats_float_select(values, 1, count, rank), high = low;
    if (rank + 1 < count) { // the selection has moved all larger values behind the rank
        high = values[rank + 1];
        for (size_t i = rank + 2; i < count; i++)
            high = fmin(high, (double)values[i]);
    }
    return low + (place - (double)rank) * (high - low);
}

double dw_statistics_mean(const double *values, size_t count)
{
    return count ? gsl_stats_mean(values, 1, count) : NAN;
}

double dw_statistics_deviation(const double *values, size_t count)
{
    return count > 1 ? gsl_stats_sd(values, 1, count) : NAN;
}

double dw_statistics_mean_uncertainty(const double *values, size_t count)
{
    if (count < 2)
        return NAN;
    return gsl_cdf_tdist_Pinv(0.975, (double)count - 1) * gsl_stats_sd(values, 1, count) / sqrt((double)count);
}
