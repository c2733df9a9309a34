// SPDX-License-Identifier: MIT
// The weighting of speed fluctuations by ear: IEC 60386 Table I, the same as
// AES6 and DIN 45 507.
#ifndef DW_DSP_FLUTTER_WEIGHTING_H
#define DW_DSP_FLUTTER_WEIGHTING_H

#include "dsp/long_fir.h"

// One point of the published table.
typedef struct {
    double frequency_hz;
    double level_db;
} DwWeightingPoint;

enum { DW_FLUTTER_WEIGHTING_POINTS = 17 };
// The table, 0.1 to 200 Hz, 0 dB at 4 Hz.
// Reference: IEC 60386:1972, Table I; the levels are from memory and agree with
// two independent checks (docs/methods.md).
extern const DwWeightingPoint dw_flutter_weighting_table[DW_FLUTTER_WEIGHTING_POINTS];

// The curve's gain at FREQUENCY_HZ (> 0): the table's points joined by a natural cubic spline
// over the logarithm of the frequency, going on beyond its ends as steeply as there.
// Accuracy: on every point of the table; other smooth ways of joining them differ by up to
// 0.2 dB between points.
double dw_flutter_weighting_gain(double frequency_hz);
// The filter at RATE_HZ (900 Hz or more), with the least phase. The caller frees it with dw_long_fir_free().
// Accuracy: within 0.02 dB of the gain from 0.2 to 200 Hz.
DwLongFir *dw_flutter_weighting_filter(double rate_hz);

#endif
