// SPDX-License-Identifier: MIT
// Which channel of one recording is which of the other's, by what the channels have in common and how they differ.
#ifndef DW_MEASURE_TWIN_WIRING_H
#define DW_MEASURE_TWIN_WIRING_H

#include "measure/music/twin_levels.h"

#include <stdbool.h>

struct DwTwinWiring {
    int polarity;        // 1: the channels stand alike in both; −1: one is reversed in one of the two; 0: not known
    bool exchanged;      // the first's left is the second's right
    int silent[2];       // the channel of each that holds nothing while the other sounds; −1: none
    double silent_db[2]; // how far it lies below the other
};

// Two recordings along PATH. With one channel in either, nothing is known.
// Method: in third octaves, second by second, the correlation of left with right (reversed: of the other sign), and
// their difference of level (exchanged: of the other sign).
DwTwinWiring dw_twin_wiring_find(const DwTwinLevels *one, const DwTwinLevels *two, const DwTwinPath *path);

#endif
