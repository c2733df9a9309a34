// SPDX-License-Identifier: MIT
// Two-tone bands whose intermodulation is known.
#ifndef DW_TESTS_SUPPORT_TWO_TONE_H
#define DW_TESTS_SUPPORT_TWO_TONE_H

#include "support/band_signal.h"

// A band whose high tone the low one modulates in level (AM) and pitch (PM, radians).
typedef struct {
    double low_hz;
    double vertical; // sign of the low tone in the right channel
    double level[2], pitch[2];
} TwoTone;

static inline void two_tone_play(BandSignal *signal, const BandDeck *deck, const TwoTone *tone, double seconds)
{
    size_t count = (size_t)(seconds * deck->rate_hz);
    for (size_t n = 0; n < count; n++) {
        double time = (double)signal->frames / deck->rate_hz;
        double low = band_angle(deck, tone->low_hz, time), high = band_angle(deck, 4000, time), out[2];
        for (size_t c = 0; c < 2; c++)
            out[c] = 0.3 * (c ? tone->vertical : 1) * sin(low) +
                     0.075 * (1 + tone->level[c] * sin(low)) * sin(high + tone->pitch[c] * sin(low));
        band_append(signal, deck, out, time);
    }
}

#endif
