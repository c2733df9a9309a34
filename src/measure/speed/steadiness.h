// SPDX-License-Identifier: MIT
// Where a tone's speed holds still: splits a run at steps, slides and run-ups into
// stretches, and picks the one to measure.
#ifndef DW_MEASURE_STEADINESS_H
#define DW_MEASURE_STEADINESS_H

#include "measure/tone/carrier.h"

enum { DW_STRETCHES_MOST = 24 };

typedef struct {
    size_t from, to; // values of the run
    double mean_hz;
    double change; // % from its beginning to its end, along a straight line
    DwToneFit fit;
    double engraved_hz; // the tone it is taken for; NAN for a foreign one
} DwStretch;

typedef struct {
    DwStretch stretch[DW_STRETCHES_MOST]; // of three turns or more, in order of time
    size_t count;
    size_t chosen;  // meaningless without any
    double left_s;  // seconds of the run that hold no such stretch
    bool is_sweep;  // of the whole run: it goes one way all along, and far
    double from_hz; // of it, at its beginning and its end
    double to_hz;
} DwSteadiness;

// Splits RUN. USED is 0 for values that do not count; TURN_S is a turn at the speed the
// tone tells; STATED_HZ the tone as stated (NAN: a usual one).
//
// Method: means over whole turns, which no wow of the platter moves, before and
// after each moment. Where they differ by more than five robust standard deviations from
// what they usually differ by, by more than they swing both ways, and by 0.04 % at least, the speed did not hold
// still; 1.5 % (or the wow itself, where that is more) is always too much.
// The stretch nearest to the tone is chosen, the longest of several within 1 %.
void dw_steadiness_find(const DwToneRun *run, const unsigned char *used, double turn_s, double stated_hz,
                        DwSteadiness *steadiness);

#endif
