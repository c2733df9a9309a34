// SPDX-License-Identifier: MIT
// Bands told apart by more than pitch, where only one channel is heard or both sound alike: by how loud the plan makes
// them, and by what is left of the other channel.
#ifndef DW_MEASURE_SIDE_LEVEL_H
#define DW_MEASURE_SIDE_LEVEL_H

#include "measure/side/side_match.h"

// Whether SEGMENT is a tone of one level: rising steps hold far more than the tones that are cut for one channel.
bool dw_side_is_level(const DwSideSegment *segment);
// Sets how far each of COUNT stretches is under the loudest of its own tone; a steady one under the loudest steady one.
void dw_side_compare_levels(DwSideSegment *segments, size_t count);

// What the plan makes BAND in the channel that WIRING leaves, behind replay equalisation; NAN where that is not known,
// as of steps. A sweep has the level of its middle.
double dw_side_made_db(const DwBandPlanBand *band, DwSideWiring wiring);

// The decibels of the recording over those of dw_side_made_db that most pairs of a tone and a band agree on under
// GUESS; NAN where none tells.
double dw_side_likely_level_db(const DwSideSegment *segments, size_t count, const DwBandPlan *plan, DwSideGuess guess);

// How far SEGMENT is over what the plan makes BAND under GUESS; NAN where that is not known.
double dw_side_over_plan_db(const DwSideGuess *guess, const DwSideSegment *segment, const DwBandPlanBand *band);

// Tells of each of the COUNT stretches how it was cut, from what both channels have in common of it.
//
// Method: of a lateral band the channel that is all but lost holds a share in phase with the one that is heard, of a
// vertical one as much in opposite phase, of one cut for the heard channel nothing but crosstalk. The tones of one
// frequency are held against the one that has most in common; where all have as much, as by crosstalk of the wiring,
// and where noise hides it, nothing is told.
void dw_side_tell_cut(DwSideSegment *segments, size_t count);

#endif
