// SPDX-License-Identifier: MIT
// How the channels are joined for one tone, and what is heard beside it.
#ifndef DW_MEASURE_TONE_JOIN_H
#define DW_MEASURE_TONE_JOIN_H

#include "measure/tone/demodulator.h"
#include "measure/tone/window.h"

typedef struct {
    double complex weight[2];
    double share[2];      // each channel's amplitude as a share of the joined one
    bool reversed;        // the channels are in opposite phase
    size_t lag;           // half a period of the tone in samples
    double power_of_pure; // joined tone power over the power heard when nothing else is there
} DwToneJoin;

// Weights that join the channels for the best signal to noise, from the tone
// FREQUENCY_HZ between the stream places FROM and TO of CHANNEL (values NULL in
// the second: mono), sampled at RATE_HZ.
// Reference: the conjugate of the principal eigenvector of the channels'
// correlation (maximum-ratio combining).
DwToneJoin dw_tone_join_find(const DwWindow channel[2], size_t from, size_t to, double frequency_hz, double rate_hz);

// Hands DEMODULATOR the samples of CHANNEL from stream place FROM, which must have
// the lag before it, up to END, and adds to HEARD their power above rumble and hum,
// sample by sample.
void dw_tone_join_demodulate(const DwToneJoin *join, const DwWindow channel[2], size_t from, size_t end,
                             DwDemodulator *demodulator, DwWindow *heard);

#endif
