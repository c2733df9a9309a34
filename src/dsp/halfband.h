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
// The same for the two channels of FRAMES interleaved frames, each by its own of TWO, which have taken as much as each
// other; to OUTPUT[0] and OUTPUT[1]. Returned: how many each.
size_t dw_halfband_push_two(DwHalfband *const two[2], const float *interleaved, size_t frames, float *const output[2]);
// Ends the stream: writes the outputs still owed, as if silence followed.
size_t dw_halfband_finish(DwHalfband *halfband, float *output);

#endif
