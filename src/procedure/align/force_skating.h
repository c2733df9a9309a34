// SPDX-License-Identifier: MIT
// The skating part of the force's sheet: what pulls the arm inwards, and the
// anti-skating as found against it.
#ifndef DW_PROCEDURE_FORCE_SKATING_H
#define DW_PROCEDURE_FORCE_SKATING_H

#include "base/sheet.h"

// Adds it for the wanted force, else for the one found (NAN when there is none).
void dw_force_skating(DwSheet *sheet, const DwInputs *inputs, double found_g, double found_half_width_g);

// What was given of the anti-skating contradicts itself: DW_BAD_INPUT with one line.
DwStatus dw_force_skating_check(const DwInputs *inputs, DwMessage *message);

#endif
