// SPDX-License-Identifier: MIT
// What repeats in a curve or a raster, for the sentence that describes it.
#ifndef DW_CHART_RHYTHM_H
#define DW_CHART_RHYTHM_H

#include "base/sheet.h"

// Given: COUNT points (x, y), x ascending; NAN in y is a gap.
// Returned: the period [unit of x] of the sine that explains most of y about
// its straight-line trend, and in SHARE the part of the variance it explains;
// NAN and 0 when there are fewer than 16 points or nothing varies.
// Accuracy: periods from 1/3 of the length down to 4 of at most 1024 averaged
// steps; the period is good to about 1/20 of (period² / length).
// Reference: Jeffrey D. Scargle, "Studies in astronomical time series analysis
// II", Astrophysical Journal 263, 1982, eq. 3 (the classical periodogram).
double dw_rhythm_period(const double *x, const double *y, size_t count, double *share);

// Given: a raster.
// Returned: how far the pattern moves from one row to the next [columns,
// to the right positive, the smallest such move], and in LIKENESS the
// autocorrelation at a row's length and that much; 0 and 0 when it cannot be
// told.
// Accuracy: rows are averaged to at most 72 columns, and the move is a whole
// number of those, less than half a row either way.
// Reference: George E. P. Box and Gwilym M. Jenkins, "Time Series Analysis",
// 1970, ch. 2 (the sample autocorrelation; from memory).
double dw_rhythm_row_shift(const DwRaster *raster, double *likeness);

#endif
