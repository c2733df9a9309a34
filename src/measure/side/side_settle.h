// SPDX-License-Identifier: MIT
// Once the order of a side is known: where its sweeps and silent bands begin and end.
#ifndef DW_MEASURE_SIDE_SETTLE_H
#define DW_MEASURE_SIDE_SETTLE_H

#include "measure/side/side_align.h"

// Puts the bands of ALIGNMENT right by the course of what FINDER looks at.
//
// Method: a sweep that goes through its octaves evenly shows in every frame when it must have begun; where
// enough frames agree on one moment, it begins there, whatever noise, hum or ticks hide of it. Other sweeps stay
// where they were found. A silent band whose neighbours stand as far apart as the plan has them lies where the
// plan puts it, if it is quiet there, whatever ticks and rumble stand in it.
void dw_side_settle(const DwSideFinder *finder, const DwBandPlan *plan, bool mono, DwSideAlignment *alignment);

#endif
