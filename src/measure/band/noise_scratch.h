// SPDX-License-Identifier: MIT
// A scratch across the grooves: a tick that comes once a turn.
#ifndef DW_MEASURE_NOISE_SCRATCH_H
#define DW_MEASURE_NOISE_SCRATCH_H

#include <stddef.h>

// What comes once a turn.
typedef struct {
    size_t hits, turns;     // in how many of the turns from the first hit to the last; hits 0: no scratch
    double first_s, turn_s; // the first hit, and the time of a turn that fits best
} DwScratch;

// Looks for a scratch among COUNT ticks at TICK_S [s], in order, on a record that turns in about TURN_S [s] (within 1
// %). Returned: the best one, if its ticks keep within 3 hundredths of a turn, in four turns or more and in seven of
// ten between its first and its last, and as many ticks at random would do so once in a hundred recordings at most.
// Method: the ticks folded by the turn, for each time of a turn; the time of a turn that is returned is the slope of a
// line through its ticks. Derived.
DwScratch dw_scratch_find(const double *tick_s, size_t count, double turn_s);

#endif
