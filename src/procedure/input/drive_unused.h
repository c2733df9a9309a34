// SPDX-License-Identifier: MIT
// What was stated of a drive and has no meaning for its kind.
#ifndef DW_PROCEDURE_DRIVE_UNUSED_H
#define DW_PROCEDURE_DRIVE_UNUSED_H

#include "base/inputs.h"
#include "base/sheet.h"
#include "physics/rates.h"

// Adds a remark that names every operand of INPUTS that a drive of KIND has no use for; nothing without any.
void dw_drive_unused_remark(const DwInputs *inputs, DwDriveKind kind, DwSheet *sheet);

#endif
