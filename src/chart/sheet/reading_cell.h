// SPDX-License-Identifier: MIT
// One large reading on its range mark, and the rest of them as a list.
#ifndef DW_CHART_READING_CELL_H
#define DW_CHART_READING_CELL_H

#include "chart/draw/canvas.h"

// BEFORE is the same reading as received, or NULL.
double dw_reading_cell_height(const DwCanvas *canvas, const DwReading *reading, const DwReading *before, double width);
void dw_reading_cell_draw(const DwCanvas *canvas, const DwReading *reading, const DwReading *before, double x, double y,
                          double width);
// The middle of the rule of the range mark of a cell drawn at Y, WIDTH wide.
double dw_reading_cell_rule(const DwCanvas *canvas, const DwReading *reading, double y, double width);

// One line of the list: its first baseline is at Y. The label goes on below where it is long, and what makes the
// reading doubtful where there is no room beside it; the figure and its ± are never cut.
double dw_reading_cell_line_height(const DwCanvas *canvas, const DwReading *reading, double width);
void dw_reading_cell_draw_line(const DwCanvas *canvas, const DwReading *reading, double x, double y, double width);

#endif
