// SPDX-License-Identifier: MIT
// Order statistics and spreads of samples.
#ifndef DW_DSP_STATISTICS_H
#define DW_DSP_STATISTICS_H

#include <stddef.h>

// The value that SHARE (0 … 1) of the COUNT values lie below, by linear
// interpolation between order statistics (Hyndman & Fan type 7). Reorders VALUES.
double dw_statistics_quantile(float *values, size_t count, double share);
double dw_statistics_mean(const double *values, size_t count);
// The sample standard deviation (divisor COUNT − 1); NAN below two values.
double dw_statistics_deviation(const double *values, size_t count);
// Half-width of the 95 % interval of the mean of COUNT values by Student's t;
// NAN below two values.
double dw_statistics_mean_uncertainty(const double *values, size_t count);

#endif
