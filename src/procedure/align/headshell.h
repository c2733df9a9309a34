// SPDX-License-Identifier: MIT
// The headshell as a technician states it: what it lets a cartridge do, and
// the words for doing it.
#ifndef DW_PROCEDURE_HEADSHELL_H
#define DW_PROCEDURE_HEADSHELL_H

#include "base/inputs.h"
#include "base/sheet.h"
#include "physics/arm_found.h"

typedef enum {
    DW_SHELL_SLOTS,  // slides and twists
    DW_SHELL_SLIDE,  // slides along a guide, no twist
    DW_SHELL_HOLES,  // plain holes with clearance
    DW_SHELL_FIXED,  // nothing moves
    DW_SHELL_PLUGIN, // the whole shell slides in its collet, no twist
    DW_SHELL_COUNT,
} DwShellKind;

typedef struct {
    DwShellKind kind;
    bool travel_known; // of what slides
    DwHeadshell allows;
} DwShell;

// Reads arm.headshell and its travel; what contradicts itself is DW_BAD_INPUT with one line.
DwStatus dw_shell_read(const DwInputs *inputs, DwShell *shell, DwMessage *message);

// A shell of KIND with the travel and clearance of SHELL.
DwShell dw_shell_other(const DwInputs *inputs, const DwShell *shell, DwShellKind kind);

// "slots", "a slide without twist" …
const char *dw_shell_name(DwShellKind kind);
// "along the slots", "in the collet" …
const char *dw_shell_way(DwShellKind kind);
// The labels of its slide and its twist.
const char *dw_shell_slide_label(DwShellKind kind);
const char *dw_shell_twist_label(DwShellKind kind);

// --- attitude.c: rake, azimuth and zenith as one attitude of the stylus, and what this mounting can undo of it -------

// Adds what rake.lean and found.twist of INPUTS ask for; nothing where neither was given.
// Given: rake_deg: the change of rake that is wanted, NAN where it is not known; height_lean_deg: how far the top
// leans towards the spindle more when the arm's height makes that change.
void dw_attitude_add(DwSheet *sheet, const DwInputs *inputs, double rake_deg, double height_lean_deg);

#endif
