// SPDX-License-Identifier: MIT
// A sheet as a run of blocks, head to foot: each knows its height and draws
// itself, so that the same blocks fill one tall picture or several pages.
#ifndef DW_CHART_SHEET_PAGE_H
#define DW_CHART_SHEET_PAGE_H

#include "chart/draw/canvas.h"
#include "chart/draw/plot.h"

enum { DW_SHEET_PAGE_LARGE_MOST = 6 }; // large readings

typedef enum {
    DW_BLOCK_HEAD,
    DW_BLOCK_CELLS,     // two large readings side by side
    DW_BLOCK_LIST_HEAD, // "Further readings", of a side by what was measured: the number of its word, from 1
    DW_BLOCK_LIST_LINE,
    DW_BLOCK_STRIP, // a table of bands along time
    DW_BLOCK_TILES, // what was measured on a side, a tile each
    DW_BLOCK_ARM,   // the arm from above or from the side
    DW_BLOCK_RASTER,
    DW_BLOCK_PLOT,
    DW_BLOCK_CAUTION,
    DW_BLOCK_REMARKS_HEAD,
    DW_BLOCK_REMARK,
    DW_BLOCK_MISSING_HEAD,
    DW_BLOCK_MISSING,
} DwBlockKind;

typedef struct {
    DwBlockKind kind;
    size_t index;       // of what it shows, in the sheet
    bool of_before;     // a raster of the earlier sheet
    bool ends_page;     // what follows begins on another page
    double least, wish; // heights; they differ where the block may be squeezed
} DwBlock;

typedef struct {
    const DwSheet *sheet;
    const DwSheet *before;                  // as received, or NULL
    size_t large[DW_SHEET_PAGE_LARGE_MOST]; // readings drawn large, by index
    size_t large_count;
    DwPlot *plots;
    size_t plot_count;
    DwBlock *blocks;
    size_t block_count;
} DwSheetPage;

// The blocks of SHEET in reading order, with BEFORE (NULL: none) as the one as received. Both sheets
// must outlive the page. The caller frees it with dw_sheet_page_free().
DwSheetPage *dw_sheet_page_new(const DwSheet *sheet, const DwSheet *before);
// The same as one picture, all of it to be seen at once: of a side its overview, of any other sheet all of it.
DwSheetPage *dw_sheet_page_new_at_once(const DwSheet *sheet, const DwSheet *before);
void dw_sheet_page_free(DwSheetPage *page);

// Sets the heights of all blocks for drawing on CANVAS in WIDTH.
void dw_sheet_page_measure(DwSheetPage *page, const DwCanvas *canvas, double width);
// Draws block INDEX, HEIGHT high, with its top at Y.
void dw_sheet_page_draw_block(const DwSheetPage *page, size_t index, const DwCanvas *canvas, DwBox box);
// Whether block INDEX must not be the last on a page: a heading.
bool dw_sheet_page_is_heading(const DwSheetPage *page, size_t index);

#endif
