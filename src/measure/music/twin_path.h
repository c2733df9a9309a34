// SPDX-License-Identifier: MIT
// Where in one recording of a groove the music of another recording stands, to a twentieth of a second: over the whole
// of it, whatever the speed, across skips and cuts.
#ifndef DW_MEASURE_TWIN_PATH_H
#define DW_MEASURE_TWIN_PATH_H

#include <stdbool.h>
#include <stddef.h>

typedef struct {
    const float *samples;
    size_t count;
    double rate_hz;
} DwTwinSound;

// A place of the first recording and where it stands in the second.
typedef struct {
    double at_s, other_s;
    double likeness; // −1 … 1, of how loudness moves around it
    bool is_jump;    // the music does not go on here from the place before: a skip or a cut
} DwTwinPlace;

typedef struct {
    DwTwinPlace *place; // every second of what both hold
    size_t count;
    double ratio;    // seconds of the second for one of the first
    double likeness; // median of the places'
} DwTwinPath;

// The path from ONE to TWO; without places where they have nothing in common. dw_twin_path_clear() frees what it holds.
//
// Method: how the level in ten bands rises and falls, twenty times a second. Stretches of 20 s of the first are looked
// for in all of the second at speeds of up to 9.5 % more and less; what most of them agree on is followed from second
// to second (Viterbi's way: the best sum of likenesses, less a price for each jump).
DwTwinPath dw_twin_path_find(const DwTwinSound *one, const DwTwinSound *two);
void dw_twin_path_clear(DwTwinPath *path);

#endif
