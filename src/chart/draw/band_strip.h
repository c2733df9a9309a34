// SPDX-License-Identifier: MIT
// The bands of a side along time: each drawn by its kind, numbered, with a mark
// under what is not simply found.
#ifndef DW_CHART_BAND_STRIP_H
#define DW_CHART_BAND_STRIP_H

#include "chart/draw/canvas.h"

// Whether TABLE is one of bands: it has columns band, kind, start, end and verdict.
bool dw_band_strip_fits(const DwTable *table);
// Its height in units of CANVAS.
double dw_band_strip_height(const DwCanvas *canvas);
// VERDICTS: what is said of each of its bands, or NULL. A band that is not simply found has the mark of attention.
void dw_band_strip_draw(const DwCanvas *canvas, const DwTable *table, const DwVerdict *verdicts, DwBox box);
// What it shows, in a sentence or two. The caller frees it with free().
char *dw_band_strip_words(const DwTable *table);

#endif
