// SPDX-License-Identifier: MIT
// Ticks and scratches in a stretch of silent groove: found, and bridged over so
// that what is measured there is the groove's own noise.
#ifndef DW_MEASURE_NOISE_TICKS_H
#define DW_MEASURE_NOISE_TICKS_H

#include <stddef.h>

// Frames that a tick spoils: from its first sample to where its tail is down.
typedef struct {
    size_t from, to; // [frames]; to is one past the last
} DwTick;

enum { DW_TICKS_MOST = 512 };

// Finds the ticks of COUNT frames of CHANNELS channels (SAMPLES[channel][frame]).
// Given: rate_hz [Hz]. Returned: their number, in order, apart from one another by a frame or more;
// DW_TICKS_MOST when there are more than that.
// Accuracy: a tick is a jump of the second difference to eight times its robust spread, which
// Gaussian noise does not reach in an hour; what comes within 4 ms of it is the same tick.
// The tail of the replay curve (3180 µs) is followed until it is a hundredth.
// Reference: threshold on a whitened signal, S. J. Godsill and P. J. W. Rayner, "Digital Audio
// Restoration", Springer 1998, ch. 5 (from memory); the tail is derived.
size_t dw_ticks_find(const double *const *samples, unsigned channels, size_t count, double rate_hz,
                     DwTick ticks[DW_TICKS_MOST]);
// Replaces the spoilt frames of one channel by a straight line from the mean before to the mean after.
void dw_ticks_bridge(double *samples, size_t count, double rate_hz, const DwTick *ticks, size_t tick_count);
// The share of COUNT frames that TICKS spoil.
double dw_ticks_share(const DwTick *ticks, size_t tick_count, size_t count);

#endif
