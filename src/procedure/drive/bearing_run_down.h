// SPDX-License-Identifier: MIT
// The run-down part of `bearing`: times at speeds, fitted, and before against after.
#ifndef DW_PROCEDURE_BEARING_RUN_DOWN_H
#define DW_PROCEDURE_BEARING_RUN_DOWN_H

#include "procedure/registry/procedure.h"

// Adds what `bearing.at`, or a recording of the tone running down in its place, and
// `bearing.before` give to SHEET.
DwStatus dw_bearing_add_run_down(const DwRequest *request, DwSheet *sheet, DwMessage *message);

#endif
