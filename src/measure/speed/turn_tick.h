// SPDX-License-Identifier: MIT
// Finds a tick that comes once a turn in a demodulated tone: a scratch across
// the band, or a click that the platter makes.
#ifndef DW_MEASURE_TURN_TICK_H
#define DW_MEASURE_TURN_TICK_H

#include "measure/tone/carrier.h"

typedef struct {
    double first_s; // the first of them, by the line fitted through all
    double rate_hz; // of coming
    double off_s;   // standard uncertainty of where the line stands in its middle
    size_t heard, turns;
} DwTurnTick;

// Looks in RUN for ticks that come within a share WITHIN of RATE_HZ.
//
// Returned: false when no such row of ticks is there: it must be heard in 60 %
// of the turns and in four at least, and be twice as full as any other row.
// Accuracy: a tick's place within about a millisecond.
bool dw_turn_tick_find(const DwToneRun *run, double rate_hz, double within, DwTurnTick *tick);

#endif
