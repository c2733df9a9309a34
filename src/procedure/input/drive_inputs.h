// SPDX-License-Identifier: MIT
// The drive as a technician describes it, read from the inputs: for the drive's
// own procedure and for tracing lines of a recording to its parts.
#ifndef DW_PROCEDURE_DRIVE_INPUTS_H
#define DW_PROCEDURE_DRIVE_INPUTS_H

#include "base/inputs.h"
#include "physics/rates.h"

enum { DW_DRIVE_STEPS_MOST = 4 };

// One speed of the deck: the drive with the pulley of that step.
typedef struct {
    DwDrive drive;
    double nominal_rpm;
} DwDriveStep;

// Whether INPUTS say anything of the drive.
bool dw_drive_inputs_given(const DwInputs *inputs);

// Whether the kind of drive is stated, or plain from what is.
bool dw_drive_inputs_kind_is_plain(const DwInputs *inputs);

// Reads the drive, a step for each pulley diameter given, slow steps first. One
// pulley or none is one step at `deck.speed`; several are named by their ratios. A
// direct drive has a step each for 33⅓, 45 and 78.
// Status: DW_BAD_INPUT when the kind of drive is neither given nor plain from the
// rest, or when there are too many pulleys.
DwStatus dw_drive_inputs_read(const DwInputs *inputs, DwDriveStep steps[DW_DRIVE_STEPS_MOST], size_t *count,
                              DwMessage *message);

// Which of COUNT steps is the one `deck.speed` asks for: the nearest nominal.
size_t dw_drive_inputs_step(const DwDriveStep *steps, size_t count, double speed_rpm);

#endif
