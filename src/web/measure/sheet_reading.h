// SPDX-License-Identifier: MIT
// One large reading of a sheet in a page.
#ifndef DW_WEB_SHEET_READING_H
#define DW_WEB_SHEET_READING_H

#include "web/measure/sheet_view.h"

// Writes a reading as one of the large ones: label, value, unit, range mark, verdict.
void dw_sheet_reading_write_large(DwVisit *visit, const DwSheetView *view, const DwReading *reading);
// The number or word of READING, its unit in quiet ink and its uncertainty.
void dw_sheet_reading_write_value(DwVisit *visit, const DwReading *reading);
// What is doubtful about it, "clipped, short"; "" when nothing is. The caller frees it with free().
char *dw_sheet_reading_doubts(const DwReading *reading);

#endif
