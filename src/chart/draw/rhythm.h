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

// How the rows of a raster follow one another.
typedef struct {
    double upright;  // share of the variance that stands in the same columns in every row
    double shift;    // how far the rest moves from one row to the next [columns, to the right positive]
    double likeness; // autocorrelation of the rest at a row's length and that much; 0: no move can be told
} DwRowPattern;

// Given: a raster.
// Returned: its pattern; all zero with fewer than 3 rows or 4 columns. The
// upright part is taken out before the move is looked for where it is more than
// three times what rows without any pattern would leave by chance (1 in rows).
// Accuracy: rows are averaged to at most 72 columns, and the move is a whole
// number of those, less than half a row either way, the smallest where several fit.
// Reference: George E. P. Box and Gwilym M. Jenkins, "Time Series Analysis",
// 1970, ch. 2 (the sample autocorrelation; from memory).
DwRowPattern dw_rhythm_rows(const DwRaster *raster);

#endif
