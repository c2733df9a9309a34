// SPDX-License-Identifier: MIT
// How much weaker one channel is than the other, from bands that drive them one by one and together.
#ifndef DW_MEASURE_CHANNEL_GAIN_H
#define DW_MEASURE_CHANNEL_GAIN_H

#include <stddef.h>

// The levels of left and right [dB] in one band.
typedef struct {
    double level_db[2];
} DwChannelLevels;

// Right's gain over left's [dB] from COUNT bands of one tone.
// Returned: 0 where the bands do not tell: each channel is held against its own best level, and at
// least one band has to drive one of them alone. A channel that only carries its neighbour's
// signal, dead or strapped, tells nothing; nor does one more than 30 dB down.
// Accuracy: that of the levels where a band drives both; else as good as the bands were cut alike.
double dw_channel_gain_db(const DwChannelLevels *bands, size_t count);

#endif
