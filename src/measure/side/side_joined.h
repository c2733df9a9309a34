// SPDX-License-Identifier: MIT
// Whether the channels of a side carry the same, where its bands were found without that: unequal gains behind a
// strap, or bands far quieter than others of their tone.
#ifndef DW_MEASURE_SIDE_JOINED_H
#define DW_MEASURE_SIDE_JOINED_H

#include "measure/side/side_align.h"

// Given: ALIGNMENT of the stretches SEGMENTS with PLAN. Returned: whether none of the bands cut for one channel
// was found, while stretches that are no other band are as long and of the tone of one cut for the left and of another
// cut for the right, and come out of both channels in phase, as much louder in one channel as a lateral band (within 3
// dB): channels that are apart turn that over.
bool dw_side_is_joined(const DwSideAlignment *alignment, const DwSideSegment *segments, const DwBandPlan *plan);

#endif
