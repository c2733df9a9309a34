// SPDX-License-Identifier: MIT
// Photographs and films of a described set-up, as files to try film, pose and belt on.
#ifndef DW_PROCEDURE_VIEW_WRITE_H
#define DW_PROCEDURE_VIEW_WRITE_H

#include "base/inputs.h"
#include "base/sheet.h"

#include <stdbool.h>

// Whether PATH ends as a photograph or a film does.
bool dw_view_path(const char *path);
// The first key given in INPUTS that only pictures show, or NULL. Valid for ever.
const char *dw_view_given(const DwInputs *inputs);

// Writes what INPUTS describe: one film, or COUNT photographs of one set-up. *SHEET says what is true of it and how to
// measure it; the caller frees it with dw_sheet_free(). What cannot be made is DW_BAD_INPUT with one line.
DwStatus dw_view_write(const DwInputs *inputs, const char *const *paths, size_t count, DwSheet **sheet,
                       DwMessage *message);

#endif
