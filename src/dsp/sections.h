// SPDX-License-Identifier: MIT
// Recursive filters as second-order sections in double precision, direct form
// II transposed: at wow frequencies single precision is not enough.
#ifndef DW_DSP_SECTIONS_H
#define DW_DSP_SECTIONS_H

#include <stddef.h>

enum { DW_SECTIONS_MOST = 4 };

// y = (b0 + b1 z⁻¹ + b2 z⁻²) / (1 + a1 z⁻¹ + a2 z⁻²) · x, with its state.
typedef struct {
    double b0, b1, b2, a1, a2;
    double s1, s2;
} DwSection;

typedef struct {
    DwSection section[DW_SECTIONS_MOST];
    size_t count;
} DwSections;

// Butterworth low- or high-pass of even ORDER up to 8, −3 dB at CORNER_HZ, by
// the bilinear transform with that frequency kept.
// Reference: S. Butterworth, "On the theory of filter amplifiers" (1930).
DwSections dw_sections_lowpass(unsigned order, double corner_hz, double rate_hz);
DwSections dw_sections_highpass(unsigned order, double corner_hz, double rate_hz);
// Appends the analogue section (n0 + n1 s + n2 s²)/(d0 + d1 s + d2 s²), s in
// rad/s, by the bilinear transform without prewarping.
void dw_sections_append(DwSections *sections, const double n[3], const double d[3], double rate_hz);

// The gain magnitude at FREQUENCY_HZ.
double dw_sections_gain(const DwSections *sections, double frequency_hz, double rate_hz);
// Filters in place, going on from the state left by the last call.
void dw_sections_run(DwSections *sections, double *samples, size_t count);
void dw_sections_reset(DwSections *sections);

#endif
