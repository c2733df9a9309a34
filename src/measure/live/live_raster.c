// SPDX-License-Identifier: MIT
#include "measure/live/live_pictures.h"

#include <math.h>

void dw_live_raster_clear(DwLiveRaster *raster)
{
    raster->begun = 0;
    dw_live_raster_restart(raster);
}

static void begin_turn(DwLiveRaster *raster)
{
    float *row = raster->value[raster->begun % DW_LIVE_TURNS];
    for (size_t i = 0; i < DW_LIVE_CELLS; i++)
        row[i] = NAN;
    raster->begun++;
    raster->cells = 0;
}

void dw_live_raster_restart(DwLiveRaster *raster)
{
    raster->place = raster->sum = 0;
    raster->in_cell = 0;
    if (raster->begun == 0 || raster->cells > 0)
        begin_turn(raster);
}

static void end_cell(DwLiveRaster *raster)
{
    if (raster->in_cell)
        raster->value[(raster->begun - 1) % DW_LIVE_TURNS][raster->cells] = (float)(raster->sum / raster->in_cell);
    raster->sum = 0;
    raster->in_cell = 0;
    raster->cells++;
    if (raster->cells == DW_LIVE_CELLS) {
        raster->place -= 1;
        begin_turn(raster);
    }
}

void dw_live_raster_push(DwLiveRaster *raster, double percent, bool used, double turn)
{
    while (raster->place * DW_LIVE_CELLS >= (double)(raster->cells + 1))
        end_cell(raster);
    if (used) {
        raster->sum += percent;
        raster->in_cell++;
    }
    raster->place += turn;
}

uint64_t dw_live_raster_first(const DwLiveRaster *raster)
{
    return raster->begun > DW_LIVE_TURNS ? raster->begun - DW_LIVE_TURNS : 0;
}
