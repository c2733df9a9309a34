// SPDX-License-Identifier: MIT
// Which turn of the first recording runs worst against the second, and which best.
#ifndef DW_MEASURE_TWIN_TURNS_H
#define DW_MEASURE_TWIN_TURNS_H

#include "measure/music/twin.h"

typedef struct {
    double turn_s;                      // of the first, in its own time
    double worst_s, best_s;             // where they begin in the first
    double worst_percent, best_percent; // rms of the difference of speed over them
    double worst_other_s;               // where the worst stands in the second
} DwTwinTurns;

// Returned: false where no whole turn was compared without a break.
// Method: the rms of the one's speed against the other's mean over each turn, begun every tenth of a second.
bool dw_twin_turns(const DwTwin *twin, DwTwinTurns *turns);

#endif
