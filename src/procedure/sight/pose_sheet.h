// SPDX-License-Identifier: MIT
#ifndef DW_PROCEDURE_POSE_SHEET_H
#define DW_PROCEDURE_POSE_SHEET_H

#include "procedure/align/arm_setup.h"
#include "procedure/sight/pose_taken.h"

// Adds to SHEET what TAKEN tells. SETUP is the arm stated, or NULL where it is not; KNOWN_MM the size of the known
// thing, or NAN.
void dw_pose_sheet_fill(const DwPoseTaken *taken, const DwArmSetup *setup, double known_mm, DwSheet *sheet);

#endif
