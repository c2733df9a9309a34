// SPDX-License-Identifier: MIT
// When things happen by chance: a Poisson process with a dead time, so that
// two ticks never melt into one and a count stays a count.
#ifndef DW_SYNTH_EVENTS_H
#define DW_SYNTH_EVENTS_H

#include "synth/random.h"

typedef struct {
    DwRandom random;
    double dead;  // [frames] the least distance of two events
    double extra; // [frames] the mean of the random wait on top of it
    double next;  // [frames] INFINITY: nothing happens
} DwEvents;

// Given: the mean count of events a frame (0: none), the dead time [frames; its
//   product with the mean count under 1] and the first frame they may fall on.
void dw_events_init(DwEvents *events, uint64_t seed, DwStream stream, double per_frame, double dead, double from);
// The frame of the next event; it then waits for the one after. INFINITY: none.
double dw_events_take(DwEvents *events);

#endif
