// SPDX-License-Identifier: MIT
// What would settle a reading whose uncertainty reaches over its limit.
#ifndef DW_PROCEDURE_SETTLE_H
#define DW_PROCEDURE_SETTLE_H

#include "base/sheet.h"

// Adds a remark for each reading of SHEET with the verdict "cannot tell".
// Method: of a recording the uncertainty falls with the root of its length, of a drift
// with its length to the power of 3/2; that of a speed is mostly clock's and record's.
void dw_settle_remark(DwSheet *sheet);

#endif
