// SPDX-License-Identifier: MIT
// A side on one screen or page: a tile for each thing measured, with its bands,
// its verdict and the readings that decide it.
#ifndef DW_CHART_SIDE_OVERVIEW_H
#define DW_CHART_SIDE_OVERVIEW_H

#include "chart/draw/canvas.h"

// Whether SHEET is one of a side whose table of bands says what was measured on each.
bool dw_side_overview_fits(const DwSheet *sheet);
// The worst verdict of what was measured on the band in ROW of that table; none where nothing was judged.
DwVerdict dw_side_overview_verdict(const DwSheet *sheet, const DwTable *table, size_t row);

// The tiles' height in WIDTH, and drawing them into BOX.
double dw_side_overview_height(const DwCanvas *canvas, const DwSheet *sheet, double width);
void dw_side_overview_draw(const DwCanvas *canvas, const DwSheet *sheet, DwBox box);
// "Speed, on band 3: good. …" The caller frees it with free().
char *dw_side_overview_words(const DwSheet *sheet);

#endif
