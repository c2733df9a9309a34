// SPDX-License-Identifier: MIT
// A sheet in a page: its large readings on their range marks, the rest as
// tables, its pictures, cautions, remarks and what was not measured.
#ifndef DW_WEB_SHEET_VIEW_H
#define DW_WEB_SHEET_VIEW_H

#include "book/job/measurement.h"
#include "web/server/visit.h"

typedef struct {
    const DwSheet *sheet;
    const DwSheet *before;            // as received, on the same axes; or NULL
    const DwMeasurement *from;        // of the sheet, when it is kept
    const DwMeasurement *before_from; // of `before`
    const char *place;                // where its pictures are: "/sheet/12", "/result/…"
    const char *query;                // what follows the '?' there, "with=7", or ""
} DwSheetView;

// Writes a whole sheet, with BEFORE (NULL: none) beside it.
void dw_sheet_view_write(DwVisit *visit, const DwSheetView *view);

#endif
