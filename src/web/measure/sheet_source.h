// SPDX-License-Identifier: MIT
// The sheet that an address names: one just measured (/result/:key) or one of
// the book (/sheet/:id), and the one it is held against (?with=ID).
#ifndef DW_WEB_SHEET_SOURCE_H
#define DW_WEB_SHEET_SOURCE_H

#include "web/measure/result.h"
#include "web/measure/sheet_view.h"

typedef struct {
    const DwResult *result;    // NULL for a sheet of the book
    DwMeasurement measurement; // of the book
    DwMeasurement before_from;
    DwSheet *kept, *before; // read from the book, or NULL
    const DwSheet *sheet;   // the result's or `kept`
    char *place;            // "/sheet/12"
    char *query;            // "with=7" or ""
} DwSheetSource;

// False when there is no such sheet: REFUSAL says so. Else clear it in the end.
bool dw_sheet_source_open(const DwWebRequest *request, DwSheetSource *source, DwAnswer *refusal);
void dw_sheet_source_clear(const DwWebRequest *request, DwSheetSource *source);
DwSheetView dw_sheet_source_view(const DwSheetSource *source);

// --- sheet_supply.c ------------------------------------------------
// Says what spoils a comparison, with the ways out of it, and has the form by which what a kept sheet was measured
// with is supplied afterwards.
void dw_sheet_supply_write(DwPage *page, const DwSheetSource *source);

#endif
