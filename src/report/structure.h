// SPDX-License-Identifier: MIT
// What a screen reader is told of a paper's pages: which piece is a heading, a row, a picture. Cairo marks it; the
// words for pictures, for which Cairo has no call, are kept for the end (pdf_language.h).
#ifndef DW_REPORT_STRUCTURE_H
#define DW_REPORT_STRUCTURE_H

#include "report/flow.h"

// Start it with {CAIRO}; free() frees `alts`.
typedef struct {
    cairo_t *cairo;           // NULL where nothing is marked
    const char *tag, *within; // that are open, or NULL
    size_t table;             // 1 + the head of the table that is open
    const char **alts;        // of the pictures so far, which their pieces own
    size_t alt_count;
} DwStructure;

// Before piece INDEX of FLOW is drawn; at the end of each page.
void dw_structure_begin_piece(DwStructure *structure, const DwFlow *flow, size_t index);
// Before an image is drawn, which belongs to no element.
void dw_structure_pause(DwStructure *structure);
void dw_structure_end_page(DwStructure *structure);

#endif
