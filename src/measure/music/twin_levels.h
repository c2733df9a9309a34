// SPDX-License-Identifier: MIT
// The level in third-octave bands of each channel, second by second, of one recording; and one recording's against
// another's.
#ifndef DW_MEASURE_TWIN_LEVELS_H
#define DW_MEASURE_TWIN_LEVELS_H

#include "measure/music/twin_path.h"

enum { DW_TWIN_THIRDS = 28 }; // 40 Hz to 20 kHz

typedef struct DwTwinLevels DwTwinLevels;
typedef struct DwTwinWiring DwTwinWiring;

// The caller frees it with dw_twin_levels_free().
DwTwinLevels *dw_twin_levels_new(double rate_hz, unsigned channels);
void dw_twin_levels_free(DwTwinLevels *levels);
void dw_twin_levels_push(DwTwinLevels *levels, const float *interleaved, size_t frames);

// The second against the first.
typedef struct {
    unsigned channels;                     // compared one by one; 1: one of the two is mono
    double level_db;                       // middle bands, both channels
    double balance_db;                     // right over left, by how much the second differs; NAN in mono
    double balance_off_db;                 // 95 % at most: as if all bands strayed together
    double response_db[2][DW_TWIN_THIRDS]; // over the level; NAN where one of the two holds only noise
    double off_db[2][DW_TWIN_THIRDS];      // 95 %, by how far the places differ
} DwTwinLevelling;

// How many channels are held, 1 or 2.
unsigned dw_twin_levels_channels(const DwTwinLevels *levels);
// Power of BAND around AT_S, of CHANNEL, or of both together (2).
double dw_twin_levels_power(const DwTwinLevels *levels, double at_s, size_t channel, size_t band);
// What the channels have in common in BAND around AT_S, of their power: 1 for one sound in both, −1 for a reversed one.
double dw_twin_levels_common(const DwTwinLevels *levels, double at_s, size_t band);

// Compares the places of PATH, as WIRING tells which channel is which. Returned: false where there are too few.
bool dw_twin_levels_compare(const DwTwinLevels *one, const DwTwinLevels *two, const DwTwinPath *path,
                            const DwTwinWiring *wiring, DwTwinLevelling *levelling);
// The middle of a band [Hz], after IEC 61260's row.
double dw_twin_levels_third_hz(size_t band);

#endif
