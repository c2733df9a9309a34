// SPDX-License-Identifier: MIT
// Order statistics and spreads of samples.
#ifndef DW_DSP_STATISTICS_H
#define DW_DSP_STATISTICS_H

#include <stddef.h>

// The value that SHARE (0 … 1) of the COUNT values lie below, by linear
// interpolation between order statistics (Hyndman & Fan type 7). Reorders VALUES.
double dw_statistics_quantile(float *values, size_t count, double share);

// The middle one of COUNT values by size, the upper of two; NAN of none. Reorders VALUES.
double dw_statistics_middle(double *values, size_t count);

// How a signal's magnitude is spread over time.
typedef struct {
    double quantile; // stays below it for the asked share of the time
    double average;
} DwMagnitude;

// The magnitude of a signal of COUNT samples, band-limited to a quarter of its
// rate, at four points a sample, so that a tone that is a simple fraction of the
// rate is not met at the same few phases only. Samples where USED is zero and
// what lies beside them do not count (NULL: all do). NAN without any.
// Accuracy: the quantile within 1e-4 of the largest magnitude.
DwMagnitude dw_statistics_magnitude(const double *samples, const unsigned char *used, size_t count, double share);
// The same of samples kept in half the room.
DwMagnitude dw_statistics_magnitude_narrow(const float *samples, const unsigned char *used, size_t count, double share);

// The arithmetic mean of COUNT values; NAN of none.
double dw_statistics_mean(const double *values, size_t count);
// The mean of those of COUNT values that USED marks, and how many those are in *KEPT; NAN of none.
double dw_statistics_mean_used(const double *values, const unsigned char *used, size_t count, size_t *kept);
// The same of values kept in half the room.
double dw_statistics_mean_used_narrow(const float *values, const unsigned char *used, size_t count, size_t *kept);
// The sample standard deviation (divisor COUNT − 1); NAN below two values.
double dw_statistics_deviation(const double *values, size_t count);
// Half-width of the 95 % interval of the mean of COUNT values by Student's t;
// NAN below two values.
double dw_statistics_mean_uncertainty(const double *values, size_t count);

#endif
