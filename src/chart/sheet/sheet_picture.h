// SPDX-License-Identifier: MIT
// The pictures of a sheet one by one, for a page that writes the rest itself.
#ifndef DW_CHART_SHEET_PICTURE_H
#define DW_CHART_SHEET_PICTURE_H

#include "chart/sheet/sheet_page.h"

// How many pictures (rasters, then plots) PAGE has.
size_t dw_sheet_picture_count(const DwSheetPage *page);
// What picture INDEX shows, in a sentence or two. The caller frees it with free().
char *dw_sheet_picture_words(const DwSheetPage *page, size_t index);
// Picture INDEX as an SVG file, WIDTH pixels wide at its natural size, with its
// title and caption. The caller frees *BYTES with free().
DwStatus dw_sheet_picture_render(DwSheetPage *page, size_t index, double width, DwTheme theme, char **bytes,
                                 size_t *length, DwMessage *message);

#endif
