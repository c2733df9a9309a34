// SPDX-License-Identifier: MIT
// Where silent bands lie, once the bands that are heard are found.
#ifndef DW_MEASURE_SIDE_SILENCE_H
#define DW_MEASURE_SIDE_SILENCE_H

#include "measure/side/side_align.h"

// What sounds nearest to a band in the order of the plan: the end of the last before it, the start of the first after
// it, and which those are.
typedef struct {
    double from_s, to_s;
    size_t before, after; // the plan's count where there is none
} DwSideRoom;

// What sounds about the band at INDEX.
DwSideRoom dw_side_room_of(const DwBandPlan *plan, const DwSideAlignment *alignment, size_t index);

// Puts the silent band at INDEX where it lies, or calls it missing.
//
// Method: it is sought in the longest stretch between its neighbours that is as quiet as the quieter quarter of it.
// Where that goes from the one to the other, the time between them tells which of the bands that are not heard there
// were played and with that where; else the plan's gap from the neighbour that the quiet touches, or a leak beside it.
void dw_side_settle_silence(const DwSideFinder *finder, const DwBandPlan *plan, size_t index,
                            DwSideAlignment *alignment);

#endif
