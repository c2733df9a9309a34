// SPDX-License-Identifier: MIT
// What one recording of a groove adds to the music that the other does not: surface noise and ticks, as a worn or dirty
// copy does.
#ifndef DW_MEASURE_TWIN_WEAR_H
#define DW_MEASURE_TWIN_WEAR_H

#include "base/sheet.h"
#include "measure/music/twin_levels.h"

// By how much the soft moments of the second are louder than those of the first, beside what the loud ones differ.
typedef struct {
    double more_db, off_db; // off: 95 %
    size_t bands;           // that told it
} DwTwinHiss;

// Compares the places of PATH in third octaves of 1.6 to 12.5 kHz. Returned: false where too few are soft.
//
// Method: in each band the median ratio of the louder half of the places is tone and level; the softest tenth, by the
// geometric mean of both recordings, which favours neither, is held against it; mean of the bands. What music hides
// does not show: the value is towards nothing. ±: places are drawn anew, some at a time (B. Efron's bootstrap, Annals
// of Statistics 7 (1979) 1, of neighbours together as H. R. Künsch has it, Annals of Statistics 17 (1989) 1217; both
// from memory), with Student's factor for as many as are soft.
bool dw_twin_hiss_compare(const DwTwinLevels *one, const DwTwinLevels *two, const DwTwinPath *path, DwTwinHiss *hiss);

#endif
