// SPDX-License-Identifier: MIT
// The run-down part of `bearing`: times at speeds, fitted, and before against after.
#ifndef DW_PROCEDURE_BEARING_RUN_DOWN_H
#define DW_PROCEDURE_BEARING_RUN_DOWN_H

#include "base/sheet.h"

// Adds what `bearing.at` and `bearing.before` give to SHEET.
DwStatus dw_bearing_add_run_down(const DwInputs *inputs, DwSheet *sheet, DwMessage *message);

#endif
