// SPDX-License-Identifier: MIT
// A weighting curve stated by points: straight lines in decibels between them
// over the logarithm of frequency.
#ifndef DW_DSP_WEIGHTING_CURVE_H
#define DW_DSP_WEIGHTING_CURVE_H

#include <stdbool.h>
#include <stddef.h>

enum { DW_WEIGHTING_CURVE_MOST = 64 };

typedef struct {
    double frequency_hz[DW_WEIGHTING_CURVE_MOST]; // rising
    double level_db[DW_WEIGHTING_CURVE_MOST];
    size_t count;
} DwWeightingCurve;

// Adds a point. Returned: false when the curve is full or the frequency does
// not rise.
bool dw_weighting_curve_add(DwWeightingCurve *curve, double frequency_hz, double level_db);
// The curve at FREQUENCY_HZ (> 0); beyond its ends the outermost slope goes on.
// Needs two points or more.
double dw_weighting_curve_db(const DwWeightingCurve *curve, double frequency_hz);

#endif
