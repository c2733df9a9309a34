// SPDX-License-Identifier: MIT
// How well stretches of a side fit a band of its plan.
#ifndef DW_MEASURE_SIDE_MATCH_H
#define DW_MEASURE_SIDE_MATCH_H

#include "measure/side/side_align.h"

// What is taken to hold for the whole side.
typedef struct {
    double ratio;    // played over nominal speed
    double offset_s; // where the first groove would lie in the recording; NAN: unknown
    DwSideWiring wiring;
    bool mono;
    double level_db; // of the recording over dw_side_made_db(); NAN: unknown, or of no use as the channels tell
} DwSideGuess;

enum { DW_SIDE_PIECES_MOST = 10 }; // stretches that may make one band

// How well the COUNT stretches at SEGMENTS, one after another, make the band at INDEX
// of PLAN: 0 when not at all, 1 when in every respect.
double dw_side_match(const DwSideGuess *guess, const DwSideSegment *segments, size_t count, const DwBandPlan *plan,
                     size_t index);
// Whether BAND drives only what the wiring leaves nothing of (a dead channel, the difference of two joined ones), so
// that all that can be heard of it is a leak.
bool dw_side_match_is_lost(const DwSideGuess *guess, const DwBandPlanBand *band);
// How many whole turns of TURN_S a band of WANTED_S was played longer; 0 where it is not a number of turns.
unsigned dw_side_match_repeats(double played_s, double wanted_s, double turn_s);
// Whether the channels of the stretches are those of the band.
bool dw_side_match_channel(const DwSideGuess *guess, const DwSideSegment *segment, const DwBandPlanBand *band);

#endif
