// SPDX-License-Identifier: MIT
// Worn parts by number: the belt's tension as fitted, stall torque and drag by thread and scale, an idler's hardness.
#ifndef DW_PROCEDURE_DRIVE_WORN_H
#define DW_PROCEDURE_DRIVE_WORN_H

#include "base/sheet.h"
#include "procedure/input/drive_inputs.h"

// Adds what INPUTS state of them to SHEET. PLUCK_HZ and its half-width are those of a recording; NAN without one.
void dw_drive_worn_read(const DwInputs *inputs, const DwDrive *drive, double pluck_hz, double pluck_off_hz,
                        DwSheet *sheet);

#endif
