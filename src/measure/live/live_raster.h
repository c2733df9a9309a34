// SPDX-License-Identifier: MIT
// The revolution raster as it grows: a row a turn, the last turns kept. The
// place in the turn is counted by the tone's own waves, so rows stay in line
// whatever the speed does.
#ifndef DW_MEASURE_LIVE_RASTER_H
#define DW_MEASURE_LIVE_RASTER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { DW_LIVE_CELLS = 180, DW_LIVE_TURNS = 120 };

// Turn t, 0 the first since the meter began, is row t % DW_LIVE_TURNS; a cell
// that was not measured is NAN. Start it with dw_live_raster_clear().
typedef struct {
    uint64_t begun;   // turns begun; the last of them is growing
    size_t cells;     // complete cells in the growing one
    double place;     // in the turn, 0 … 1
    double sum;       // of the cell that is growing
    unsigned in_cell; // its values
    float value[DW_LIVE_TURNS][DW_LIVE_CELLS];
} DwLiveRaster;

// Makes a raster in which nothing was measured.
void dw_live_raster_clear(DwLiveRaster *raster);
// The tone was found anew: the turn that grew ends where it stands, and the next
// one begins at angle 0.
void dw_live_raster_restart(DwLiveRaster *raster);
// Takes one value of PERCENT (counted when USED) and moves on by TURN of a turn.
void dw_live_raster_push(DwLiveRaster *raster, double percent, bool used, double turn);
// The oldest turn still held.
uint64_t dw_live_raster_first(const DwLiveRaster *raster);

#endif
