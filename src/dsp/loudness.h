// SPDX-License-Identifier: MIT
// How loud a piece of sound is, so that two can be heard one after another at equal loudness.
#ifndef DW_DSP_LOUDNESS_H
#define DW_DSP_LOUDNESS_H

#include <stdbool.h>
#include <stddef.h>

typedef struct {
    double lufs;    // integrated, gated; −INFINITY for silence
    double peak_db; // true peak, over full scale
} DwLoudness;

// The loudness of FRAMES frames of INTERLEAVED, full scale ±1. Returned: false for a rate or a number of channels that
// it does not take.
// Reference: ITU-R BS.1770-4 and EBU R 128, by the library libebur128.
bool dw_loudness_of(const float *interleaved, size_t frames, unsigned channels, double rate_hz, DwLoudness *loudness);

#endif
