// SPDX-License-Identifier: MIT
// A sheet as JSON and back (version 1, docs/methods/sheet.md). Keys in a fixed
// order; an undefined value is null, never NaN.
#ifndef DW_BASE_SHEET_JSON_H
#define DW_BASE_SHEET_JSON_H

#include "base/sheet.h"

// The sheet as one JSON object, indented. The caller frees it with free().
char *dw_sheet_json_write(const DwSheet *sheet);
// Reads what dw_sheet_json_write wrote. Text that is not such an object, or is
// of a later version, is DW_BAD_INPUT. The caller frees *SHEET with dw_sheet_free().
DwStatus dw_sheet_json_read(const char *text, DwSheet **sheet, DwMessage *message);

#endif
