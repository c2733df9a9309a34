// SPDX-License-Identifier: MIT
// All of a side at once: its order and wiring by whichever way of listening shows it best, then
// where each band begins and ends.
#ifndef DW_MEASURE_SIDE_FIND_H
#define DW_MEASURE_SIDE_FIND_H

#include "measure/side/side_align.h"

// Aligns what FINDER holds with PLAN and counts what was found. MONO as for dw_side_align. The finder
// then looks at what the alignment's stretches are numbered by. The caller clears *ALIGNMENT.
//
// Method: the side is aligned as both channels show it and as each alone does; one alone is taken where
// it explains clearly more bands, as it does when the other hums or comes and goes.
void dw_side_find(DwSideFinder *finder, const DwBandPlan *plan, bool mono, DwSideAlignment *alignment);

// Counts the bands found and missing.
void dw_side_count(DwSideAlignment *alignment);

#endif
