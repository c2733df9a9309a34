// SPDX-License-Identifier: MIT
// The pickup's tilt from the crosstalk of one-sided bands. Derived in
// docs/methods/azimuth.md: x runs radially outward, z up; the left channel is
// the inner wall, the right one the outer, lateral movement comes out in phase
// (IEC 60098:2020, clause 6.2).
#ifndef DW_PHYSICS_AZIMUTH_H
#define DW_PHYSICS_AZIMUTH_H

#include <complex.h>

// What explains the crosstalk of a pickup. Channels are 0 left and 1 right.
typedef struct {
    double rotation_deg;      // the pickup's top leans this far toward the spindle
    double complex symmetric; // the leak that no tilt makes or mends
    double separation_db[2];  // as it is, each channel driven in turn
    double possible_db[2];    // with the rotation undone
} DwAzimuth;

// Given: x_right: right output over left on a band of the left wall alone;
// x_left: left over right on one of the right wall alone; both with the
// channels' gains made equal (complex, [1]).
// Returned: rotation (atan Re x_right − atan Re x_left)/2, symmetric part
// (x_right + x_left)/2, and the separations before and after a rotation back.
// Accuracy: exact for a pickup that is turned; leaks out of phase and coils at
// different angles change it by less than 0.01° where they are below 3 %.
// Reference: derived; the fingerprint of rotation is leaks of opposite sign.
DwAzimuth dw_azimuth_explain(double complex x_right, double complex x_left);

// The same rotation by level alone.
// Given: left over right on a lateral and on a vertical band [dB].
// Returned: the rotation in degrees; *gain_db is left over right of the gains.
// Reference: derived, L/R = g(1 − t)/(1 + t) lateral, g(1 + t)/(1 − t) vertical, t = tan θ.
double dw_azimuth_by_balance(double lateral_db, double vertical_db, double *gain_db);

// The way there: what a pickup with this lean gives for a groove.
// Given: the rotation [deg], and what the left and right walls do, in any unit.
// Returned: CHANNELS holds what the two coils feel: left cos θ·L − sin θ·R,
//   right cos θ·R + sin θ·L.
// Accuracy: exact for a pickup that is turned about the groove's tangent.
// Reference: derived, docs/methods/azimuth.md.
void dw_azimuth_turn(double rotation_deg, double channels[2]);

// What to put under one side of a cartridge WIDTH_MM wide to turn it by TURN_DEG.
double dw_azimuth_shim_mm(double turn_deg, double width_mm);

#endif
