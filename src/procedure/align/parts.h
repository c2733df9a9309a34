// SPDX-License-Identifier: MIT
// What the procedures of the arm leave to sources of their own. Within this room only.
#ifndef DW_PROCEDURE_ALIGN_PARTS_H
#define DW_PROCEDURE_ALIGN_PARTS_H

#include "base/inputs.h"
#include "base/sheet.h"

// The skating part of the force's sheet: what pulls the arm inwards, and the
// anti-skating as found against it.

// Adds it for the wanted force, else for the one found (NAN when there is none).
void dw_force_skating(DwSheet *sheet, const DwInputs *inputs, double found_g, double found_half_width_g);

// What was given of the anti-skating contradicts itself: DW_BAD_INPUT with one line.
DwStatus dw_force_skating_check(const DwInputs *inputs, DwMessage *message);

#endif
