// SPDX-License-Identifier: MIT
// The words on a page: its head, cautions, remarks, what was not measured.
#ifndef DW_CHART_SHEET_WORDS_H
#define DW_CHART_SHEET_WORDS_H

#include "chart/draw/canvas.h"

// BEFORE may be NULL; where it is not, the head explains hollow and filled, dashed and solid.
double dw_sheet_words_head_height(const DwCanvas *canvas, const DwSheet *sheet, const DwSheet *before, double width);
void dw_sheet_words_draw_head(const DwCanvas *canvas, const DwSheet *sheet, const DwSheet *before, DwBox box);

// The height [points] that a caution, a remark or a reason needs in WIDTH [points], and drawing it into BOX.
double dw_sheet_words_caution_height(const DwCanvas *canvas, const DwSaying *caution, double width);
void dw_sheet_words_draw_caution(const DwCanvas *canvas, const DwSaying *caution, DwBox box);
double dw_sheet_words_remark_height(const DwCanvas *canvas, const DwSaying *remark, double width);
void dw_sheet_words_draw_remark(const DwCanvas *canvas, const DwSaying *remark, DwBox box);
double dw_sheet_words_missing_height(const DwCanvas *canvas, const DwNotMeasured *missing, double width);
void dw_sheet_words_draw_missing(const DwCanvas *canvas, const DwNotMeasured *missing, DwBox box);

// In WORDS, or (NULL) the charts' own. The caller frees these with free().
char *dw_sheet_words_raster_title(const DwChartWords *words, const DwRaster *raster, bool is_pair, bool of_before);
char *dw_sheet_words_raster_caption(const DwChartWords *words, const DwRaster *raster, double end);

#endif
