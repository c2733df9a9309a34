// SPDX-License-Identifier: MIT
// Rake, azimuth and zenith as one attitude of the stylus: what is to be undone, and what this mounting can undo.
#ifndef DW_PROCEDURE_ATTITUDE_H
#define DW_PROCEDURE_ATTITUDE_H

#include "base/inputs.h"
#include "base/sheet.h"

// Adds what rake.lean and found.twist of INPUTS ask for; nothing where neither was given.
// Given: rake_deg: the change of rake that is wanted, NAN where it is not known; height_lean_deg: how far the top
// leans towards the spindle more when the arm's height makes that change.
void dw_attitude_add(DwSheet *sheet, const DwInputs *inputs, double rake_deg, double height_lean_deg);

#endif
