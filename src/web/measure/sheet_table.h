// SPDX-License-Identifier: MIT
// The tables of a sheet in a page.
#ifndef DW_WEB_SHEET_TABLE_H
#define DW_WEB_SHEET_TABLE_H

#include "web/measure/sheet_view.h"

// Writes a table of the sheet with its heading, numbers aligned.
void dw_sheet_table_write(DwVisit *visit, const DwTable *table);
// The readings that are not in LARGE, which has a place for each.
void dw_sheet_table_write_readings(DwVisit *visit, const DwSheetView *view, const bool *large);
// What the sheet was made with, folded.
void dw_sheet_table_write_inputs(DwVisit *visit, const DwSheet *sheet);

#endif
