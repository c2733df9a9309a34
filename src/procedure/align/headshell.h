// SPDX-License-Identifier: MIT
// The headshell as a technician states it: what it lets a cartridge do, and
// the words for doing it.
#ifndef DW_PROCEDURE_HEADSHELL_H
#define DW_PROCEDURE_HEADSHELL_H

#include "base/inputs.h"
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

#endif
