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

// Rake, azimuth and zenith as one attitude of the stylus: what is to be undone, and what this mounting can undo.

// Adds what rake.lean and found.twist of INPUTS ask for; nothing where neither was given.
// Given: rake_deg: the change of rake that is wanted, NAN where it is not known; height_lean_deg: how far the top
// leans towards the spindle more when the arm's height makes that change.
void dw_attitude_add(DwSheet *sheet, const DwInputs *inputs, double rake_deg, double height_lean_deg);

#endif
