// SPDX-License-Identifier: MIT
// A sheet as a picture: for the screen, for a file, for paper.
#ifndef DW_CHART_SHEET_CHART_H
#define DW_CHART_SHEET_CHART_H

#include "chart/draw/theme.h"

#include <cairo.h>

// Writes SHEET to PATH, as its ending says: .svg or .png (1200 units wide and as
// high as the sheet needs), .pdf (A4 pages). The file appears whole or not at all.
DwStatus dw_sheet_chart_write(const DwSheet *sheet, const char *path, DwMessage *message);
// Whether that can be done, found out without doing it: DW_BAD_INPUT for another ending,
// DW_FAILED where nothing can be written.
DwStatus dw_sheet_chart_check(const char *path, DwMessage *message);
// The same with BEFORE, the same procedure's sheet as the deck was received, on the
// same axes: hollow marks and dashed lines.
DwStatus dw_sheet_chart_write_pair(const DwSheet *before, const DwSheet *after, const char *path, DwMessage *message);

// Draws SHEET into WIDTH × HEIGHT at the origin of CAIRO, on the theme's ground.
// Pictures are squeezed, then all of it made smaller, until it fits.
void dw_sheet_chart_draw(const DwSheet *sheet, cairo_t *cairo, double width, double height, DwTheme theme);
void dw_sheet_chart_draw_pair(const DwSheet *before, const DwSheet *after, cairo_t *cairo, double width, double height,
                              DwTheme theme);

// The height that SHEET (with BEFORE, or NULL) takes in WIDTH without squeezing.
double dw_sheet_chart_height(const DwSheet *before, const DwSheet *sheet, double width, DwTheme theme);

typedef enum {
    DW_SHEET_CHART_SVG,
    DW_SHEET_CHART_PNG,
    DW_SHEET_CHART_PDF,
} DwSheetChartFormat;

// The whole file in memory, for a page that shows it; a PDF is always on paper's theme.
// The caller frees *BYTES with free().
DwStatus dw_sheet_chart_render(const DwSheet *before, const DwSheet *sheet, DwSheetChartFormat format, DwTheme theme,
                               char **bytes, size_t *length, DwMessage *message);

#endif
