// SPDX-License-Identifier: MIT
// The pointer of a quasi-peak flutter meter: positive and negative peaks are
// followed apart and their half-sum is smoothed (DIN 45 507, AES6-1982).
#ifndef DW_DSP_QUASI_PEAK_H
#define DW_DSP_QUASI_PEAK_H

#include <stddef.h>

typedef struct {
    double attack, hold, smoothing; // shares a sample
    double scale;                   // a 4 Hz sine reads its peak
    double positive, negative, pointer;
} DwQuasiPeak;

// Accuracy: pulses of 10/30/60/100 ms each second read 21/62/90/100 % of the
// 4 Hz reference and fall to 40 % within the published tolerances.
DwQuasiPeak dw_quasi_peak_start(double rate_hz);
// Feeds weighted deviation; writes the pointer's deflection for every sample.
// POINTER may be INPUT.
void dw_quasi_peak_run(DwQuasiPeak *meter, const double *input, double *pointer, size_t count);

#endif
