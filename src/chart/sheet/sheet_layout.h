// SPDX-License-Identifier: MIT
// How the blocks of a sheet share the height of a picture or of pages.
#ifndef DW_CHART_SHEET_LAYOUT_H
#define DW_CHART_SHEET_LAYOUT_H

#include "chart/sheet/sheet_page.h"

// The em and the margin of a picture or page WIDTH wide.
double dw_sheet_layout_em(double width, DwTheme theme);
double dw_sheet_layout_margin(double width, DwTheme theme);

// The heights that the blocks FROM to TO (past the last) would like, and need.
double dw_sheet_layout_wish(const DwSheetPage *page, size_t from, size_t to);
double dw_sheet_layout_need(const DwSheetPage *page, size_t from, size_t to);

// Past the last block that fits into ROOM when FROM is the first; never FROM
// itself, and no heading is left alone at the foot.
size_t dw_sheet_layout_page_end(const DwSheetPage *page, size_t from, double room);

// Draws the blocks FROM to TO, squeezing those that may be, into BOX.
void dw_sheet_layout_draw(const DwSheetPage *page, size_t from, size_t to, const DwCanvas *canvas, DwBox box);

#endif
