// SPDX-License-Identifier: MIT
// Halving the sampling rate of a block stream by a half-band low-pass, with no
// delay: output n stands at the time of input 2n. Every second tap is zero.
#ifndef DW_DSP_HALFBAND_H
#define DW_DSP_HALFBAND_H

#include <stddef.h>

typedef struct DwHalfband DwHalfband;

// Flat to PASS and down by ATTENUATION_DB from 0.5 − PASS on (fractions of the
// input's rate, PASS below 0.25).
DwHalfband *dw_halfband_new(double pass, double attenuation_db);
void dw_halfband_free(DwHalfband *halfband);
// Takes COUNT samples and writes those outputs that are complete. Returned: how many.
size_t dw_halfband_push(DwHalfband *halfband, const float *input, size_t count, float *output);
// Ends the stream: writes the outputs still owed, as if silence followed.
size_t dw_halfband_finish(DwHalfband *halfband, float *output);

#endif
