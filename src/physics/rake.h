// SPDX-License-Identifier: MIT
// The stylus's rake and what arm height does to it.
//
// Rake is given as the angle between the record's surface towards the pivot and
// the stylus: 90° is upright, above 90° the stylus's top leans away from the
// pivot, which raising the arm at its pivot increases.
#ifndef DW_PHYSICS_RAKE_H
#define DW_PHYSICS_RAKE_H

#include <stddef.h>

typedef struct {
    double x, y;
} DwRakePoint;

// The rake in a side photograph.
// Given: tip: where the stylus meets the record; top: a point up the stylus's
// axis; pivot_side: a point of the record's surface on the side of the pivot.
// Any one length unit, either way up, mirrored or not.
// Returned: the angle [rad], 0 to π; NAN when two points fall together.
// Accuracy: exact for a camera square to the cartridge's side.
// Reference: the angle between two lines.
double dw_rake_from_points(DwRakePoint tip, DwRakePoint top, DwRakePoint pivot_side);

// How far the angle moves for errors in picking the points.
// Given: the points and the standard deviation of each coordinate, same unit.
// Returned: standard deviation [rad].
// Accuracy: first order in the error.
// Reference: derived: σ² = e²(2/a² + 2/b² − 2 cos θ/(ab)), a and b the lengths
// from the tip to the other points; the tip's error turns both lines.
double dw_rake_point_deviation(DwRakePoint tip, DwRakePoint top, DwRakePoint pivot_side, double error);

// How the tilt of an arm reaches its cartridge.
typedef struct {
    double length_mm; // pivot to stylus, in plan
    double offset;    // of the cartridge against the line to the pivot [rad]
    double axis_turn; // of the horizontal bearing axis out of square to that line, the way of the offset [rad]
} DwRakeArm;

typedef struct {
    double tilt;  // of the arm [rad], positive: the head end goes down
    double pitch; // the cartridge's part of it along its own axis: the change of rake [rad]
    double roll;  // and across it: the change of azimuth [rad]
} DwRakeTilt;

// What raising the pivot does.
// Given: the arm, rise_mm: the pivot raised against the record's surface [mm].
// Returned: tilt = asin(rise/(L cos γ)); pitch = tilt·cos(β − γ); roll = tilt·sin(β − γ).
// Accuracy: first order in the tilt (a full rotation differs by under 0.01° at 5 mm).
// Reference: derived: a rigid arm turns about the bearing's axis, from which the
// stylus is L cos γ away; the rotation vector resolved along and across the
// cartridge's axis. Held against full rotations in tests/oracle.
DwRakeTilt dw_rake_tilt(const DwRakeArm *arm, double rise_mm);

// The rise of the pivot that changes the rake by CHANGE [rad]; the inverse of
// dw_rake_tilt().
double dw_rake_rise_mm(const DwRakeArm *arm, double change);

// What that rise does to the effective length in plan.
// Given: length_mm in plan, bearing_height_mm: the bearing axis above the
// stylus tip before the rise, rise_mm [mm].
// Returned: the change of length, and so of overhang [mm].
// Accuracy: exact for a rigid arm.
// Reference: the slant from bearing to stylus does not change.
double dw_rake_length_change_mm(double length_mm, double bearing_height_mm, double rise_mm);

// How much thicker a wedge between headshell and cartridge is at the nose than
// at the pivot's end, BASE_MM behind it, to add CHANGE to the rake [rad];
// negative: thicker at the pivot's end. Thicker at the nose presses the nose
// down, as raising the pivot does. Reference: derived, two lines and a tangent.
double dw_rake_wedge_mm(double base_mm, double change);

// The choice of shims that comes nearest to a wanted sum.
// Given: shims_mm[count], count <= 20; wanted_mm [mm].
// Returned: a bit for each shim taken (bit 0 is the first); of equally near
// choices the one with the fewest shims; 0 when none is nearer than nothing.
// Accuracy: every choice is tried.
// Reference: –
unsigned dw_rake_stack(const double *shims_mm, size_t count, double wanted_mm);

#endif
