// SPDX-License-Identifier: MIT
// The arm as it really stands, worked back from what a protractor shows, and
// the move that brings its cartridge to where it should be.
#ifndef DW_PHYSICS_ARM_FOUND_H
#define DW_PHYSICS_ARM_FOUND_H

#include "physics/alignment.h"
#include "physics/tracking.h"

#include <stddef.h>

// A tracking error read at a radius.
typedef struct {
    double radius_mm;
    double error_deg; // positive where the offset is too small
} DwErrorReading;

// The arm from the two radii where its cartridge stands tangent and the
// measured distance from pivot to spindle is dw_arm_at_distance(): L = √(d² + m₁m₂).

// The arm from tracking errors read at two or more radii.
//
// Given: the distance from pivot to spindle [mm], and COUNT readings, at two
// different radii at least.
// Returned: whether an arm with an overhang between −40 and 60 mm fits; *ARM
// is written only then. With more than two readings it is the least-squares fit.
// Accuracy: 1e-9 mm and 1e-9° in exact arithmetic.
// Reference: derived: the offset cancels in the difference of two errors, which
// rises with L; then Gauss-Newton on (L, β) with ∂ε/∂L and ∂ε/∂β = −1.
bool dw_arm_found_from_errors(double pivot_to_spindle_mm, const DwErrorReading *readings, size_t count, DwArm *arm);

// How far a cartridge may be moved.
typedef struct {
    double forward_mm; // left in the slots away from the pivot
    double back_mm;    // left towards the pivot
} DwSlots;

typedef struct {
    double slide_mm;  // along the cartridge axis; positive is away from the pivot
    double twist_deg; // about the stylus; positive turns the nose inwards, more offset
    bool allowed;     // the slots let it slide so far
    DwArm after;      // how the arm stands then
} DwArmMove;

// The move from FOUND to WANTED at the found distance from pivot to spindle:
// first the slide, then the twist about the stylus.
//
// Given: the arm as found, the one wanted (its effective length and offset
// count), what the slots allow, and the grooves.
// Returned: the whole move where the slots allow it. Where they do not, the
// slide to their end and the twist that makes the worst |error|/radius least there.
// Reference: derived: the slide keeps L sin β, so δ = √(L'² − (L sin β)²) − L cos β.
DwArmMove dw_arm_move(const DwArm *found, const DwArm *wanted, DwSlots slots, DwGroove groove);

// How far turning a cartridge about its screws carries the stylus along the arm's line.
//
// Given: the arm, the twist [deg], and how far the stylus stands ahead of the
// line through the screws [mm] (IEC 98:1987 has 9.5 ± 1 mm).
// Returned: the change of effective length [mm].
double dw_arm_twist_shift(const DwArm *arm, double twist_deg, double stylus_ahead_mm);

#endif
