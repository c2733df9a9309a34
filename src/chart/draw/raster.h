// SPDX-License-Identifier: MIT
// The revolution raster: a row a revolution, the newest at the bottom, so that
// what turns with the platter stands upright and what does not slants.
#ifndef DW_CHART_RASTER_H
#define DW_CHART_RASTER_H

#include "chart/draw/canvas.h"

// Where the cells of a raster drawn into BOX lie; the rest of BOX is ticks, the
// legend and the key.
DwBox dw_raster_field(const DwCanvas *canvas, const DwRaster *raster, DwBox box);
// The value at the ends of the colour scale: the 99th percentile of the sizes,
// rounded up, so that one click does not wash the picture out; 1 when there is none.
double dw_raster_scale_end(const DwRaster *raster);
// Draws RASTER into BOX with END at the ends of the colour scale. Places that were
// not measured are the ground with a light hatch.
void dw_raster_draw(const DwCanvas *canvas, const DwRaster *raster, double end, DwBox box);
// The height that suits it, in the canvas's units.
double dw_raster_height(const DwCanvas *canvas, const DwRaster *raster);

#endif
