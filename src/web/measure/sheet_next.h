// SPDX-License-Identifier: MIT
// What comes after a sheet: note it in the set-up, print the template for it, the
// next thing to measure; and, before it is kept as left, whether it can be held
// against what was measured as received.
#ifndef DW_WEB_SHEET_NEXT_H
#define DW_WEB_SHEET_NEXT_H

#include "base/sheet.h"
#include "web/page/page.h"

typedef struct {
    const DwSheet *sheet;
    const char *job; // its number, "" for none
    const char *as;  // received, during, left or ""
} DwSheetNext;

// Writes the steps that follow from NEXT's sheet; nothing where none does.
void dw_sheet_next_write(DwPage *page, const DwSheetNext *next);
// Says what would spoil the comparison with what was measured as received, with the way to
// measure it the same way; or that nothing does.
void dw_sheet_next_compare(DwPage *page, const DwSheetNext *next);

#endif
