// SPDX-License-Identifier: MIT
// The belt of a belt drive: length, stretch, grip, creep and how it is judged.
#ifndef DW_PROCEDURE_DRIVE_BELT_H
#define DW_PROCEDURE_DRIVE_BELT_H

#include "base/sheet.h"
#include "procedure/input/drive_inputs.h"

// Creep as a fraction, or NAN where torque, modulus or section were not given.
double dw_drive_belt_creep(const DwInputs *inputs, const DwDrive *drive);

// Adds the belt's readings, remarks and cautions, judged by data/belt.ini.
DwStatus dw_drive_belt_judge(const DwInputs *inputs, const DwDriveStep *step, DwSheet *sheet, DwMessage *message);

#endif
