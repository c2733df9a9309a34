// SPDX-License-Identifier: MIT
// The weighting of speed fluctuations by ear: IEC 60386 Table I, the same as
// AES6 and DIN 45 507.
#ifndef DW_DSP_FLUTTER_WEIGHTING_H
#define DW_DSP_FLUTTER_WEIGHTING_H

#include "dsp/fir.h"
#include "dsp/sections.h"

// Pole-zero sections for the curve at RATE_HZ (900 Hz or more). The bilinear
// transform droops towards the top of the band; the caller's symmetric filter
// makes up for it by dw_flutter_weighting_mend.
DwSections dw_flutter_weighting_sections(double rate_hz);
// What a linear-phase filter must add to SECTIONS at FREQUENCY_HZ so that both
// together follow the curve to 220 Hz.
double dw_flutter_weighting_mend(const DwSections *sections, double frequency_hz, double rate_hz);
// The curve's gain at FREQUENCY_HZ, 0 dB at 4 Hz. Accuracy: within 0.3 dB of the table from 0.2 to 200 Hz.
// Reference: IEC 60386:1972, Table I; its levels are from memory and agree with two independent checks
// (docs/methods.md).
double dw_flutter_weighting_gain(double frequency_hz);

#endif
