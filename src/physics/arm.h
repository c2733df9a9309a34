// SPDX-License-Identifier: MIT
// The plan geometry of a pivoted arm: a vertical axis, a spindle beside it, and
// a stylus that swings on a circle around the axis. Lengths are in millimetres,
// angles in degrees. An underhung arm is one whose effective length is shorter
// than the distance from pivot to spindle; its offset is usually nought.
#ifndef DW_PHYSICS_ARM_H
#define DW_PHYSICS_ARM_H

#include <stdbool.h>

typedef struct {
    double pivot_to_spindle_mm;
    double effective_length_mm; // pivot to stylus tip
    double offset_deg;          // cartridge axis against the line from pivot to stylus
} DwArm;

// The two radii where the cartridge stands tangent to the groove, inner first.
typedef struct {
    double inner_mm, outer_mm;
} DwNulls;

// Returned: how far the stylus would swing past the spindle [mm]; negative on an
// underhung arm, which stops short of it.
double dw_arm_overhang(const DwArm *arm);

// Whether the stylus can stand at RADIUS_MM from the spindle at all.
bool dw_arm_reaches(const DwArm *arm, double radius_mm);

// The angle of the line from stylus to pivot against the groove's tangent.
//
// Given: an arm, and a groove radius it reaches [mm].
// Returned: the tracking angle [deg]; NAN when the arm does not reach.
// Accuracy: the exact cosine rule, to rounding.
// Reference: S. K. Pramanik, "Understanding Tonearms", Audio, June 1980.
double dw_arm_tracking_angle(const DwArm *arm, double radius_mm);

// How far the cartridge axis is turned from the groove's tangent.
//
// Given: an arm, and a groove radius it reaches [mm].
// Returned: tracking angle less offset [deg]; positive where the offset is too
// small to make the cartridge tangent. NAN when the arm does not reach.
// Reference: as dw_arm_tracking_angle().
double dw_arm_tracking_error(const DwArm *arm, double radius_mm);

// The radii where the tracking error is nought: the roots of
// r² − 2 L r sin β + L² − d² = 0.
//
// Given: an arm.
// Returned: whether there is at least one root of positive radius; *NULLS is
// written only then. An arm with one root only (an underhung arm) has an
// outer null of NAN.
// Reference: M. D. Kessler, B. V. Pisha, "Tonearm Geometry and Setup
// Demystified", Audio, January 1980 (equation numbers from memory: 2 and 4).
bool dw_arm_nulls(const DwArm *arm, DwNulls *nulls);

// The arm whose cartridge stands tangent at NULLS when the pivot is
// PIVOT_TO_SPINDLE_MM from the spindle: L = √(d² + n₁n₂), sin β = (n₁+n₂)/2L.
DwArm dw_arm_at_distance(DwNulls nulls, double pivot_to_spindle_mm);
// The same when the effective length is given: d = √(L² − n₁n₂).
DwArm dw_arm_at_length(DwNulls nulls, double effective_length_mm);
// The same when the overhang is given: L = (n₁n₂/D + D)/2.
DwArm dw_arm_at_overhang(DwNulls nulls, double overhang_mm);
// The same when the offset is given: L = (n₁+n₂)/(2 sin β).
DwArm dw_arm_at_offset(DwNulls nulls, double offset_deg);

// How the tracking error changes when the stylus moves along the arm's line.
//
// Given: an arm, and a groove radius it reaches [mm].
// Returned: ∂ε/∂L at fixed pivot and offset [deg/mm].
// Reference: derived, (1/r − sin φ/L)/cos φ.
double dw_arm_error_per_length(const DwArm *arm, double radius_mm);
// The same when the pivot moves away from the spindle: ∂ε/∂d = −d/(L r cos φ) [deg/mm].
double dw_arm_error_per_distance(const DwArm *arm, double radius_mm);

// How far beyond a drawn arc the stylus falls on the record.
//
// Given: the arm, the arm that the arc was drawn for (its distance and effective length), how far the paper is
// turned about the spindle against the line to the pivot [deg], and a groove radius that the arm reaches [mm].
// Returned: the distance beyond the arc, positive away from the pivot [mm]; NAN when the arm does not reach.
// Accuracy: exact. Reference: the triangle of spindle, pivot and stylus.
double dw_arm_arc_miss(const DwArm *arm, const DwArm *drawn, double turn_deg, double radius_mm);

// The cartridge moved by SLIDE_MM along its own axis (positive: away from the
// pivot), as in slots parallel to it. The axis keeps its distance from the
// pivot, so L sin β stays as it was.
DwArm dw_arm_slid(const DwArm *arm, double slide_mm);

// How much the effective length in plan changes when the stylus is lifted.
//
// Given: an effective length [mm], the height of the arm's horizontal bearing
// above the stylus tip [mm], and how far the tip is lifted [mm].
// Returned: the lengthening in plan [mm], exact.
// Reference: derived: the tip moves on a circle of radius √(L² + H²).
double dw_arm_length_when_lifted(double effective_length_mm, double bearing_height_mm, double lift_mm);

#endif
