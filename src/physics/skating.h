// SPDX-License-Identifier: MIT
// The inward pull that friction in the groove gives a pivoted arm.
#ifndef DW_PHYSICS_SKATING_H
#define DW_PHYSICS_SKATING_H

// The friction coefficient here is drag over tracking force: what the 90°
// groove makes of the wall friction is already in it.
typedef struct {
    double radial_mn;          // along the groove radius: the side load on the walls
    double across_mn;          // square to the line from pivot to stylus
    double torque_unm;         // about the pivot [µN·m]
    double inner_mn, outer_mn; // what each wall carries without modulation or bias
} DwSkating;

// The angle between the line from pivot to stylus and the groove's tangent.
// Given: pivot_to_spindle_mm, effective_length_mm, radius_mm (> 0) [mm].
// Returned: the angle [rad]; NAN where the arm does not reach that radius.
// Accuracy: exact (the cosine rule in the triangle of pivot, stylus, spindle).
// Reference: S. K. Pramanik, "Understanding Tonearms", Audio, June 1980.
double dw_skating_angle(double pivot_to_spindle_mm, double effective_length_mm, double radius_mm);

// The forces at one place on the record.
// Given: friction (drag / tracking force), force_mn [mN], length_mm [mm],
// angle [rad] as from dw_skating_angle.
// Returned: radial_mn = μN tan φ, across_mn = μN sin φ, torque = μN L sin φ;
// the walls carry N(1 ± k)/√2 with k = radial/N, the inner one more.
// Accuracy: exact for a rigid stylus in an unmodulated groove; the friction
// itself is known to a factor of two at best.
// Reference: US patent 3,948,529, 1976 (force proportional to angle, tracking
// force and friction); the equations are derived from the lever L sin φ.
DwSkating dw_skating_at(double friction, double force_mn, double length_mm, double angle);

// How far a wall can swing away before the stylus no longer follows it, where
// the suspension's spring is what holds the stylus back (mid frequencies).
// Given: wall_mn: what that wall carries at rest [mN], as inner_mn or outer_mn
// above; compliance [µm/mN].
// Returned: the amplitude of that channel's own motion [µm]; a lateral swing
// has √2 of it.
// Accuracy: without the tip's mass (it takes 2 N/m of a spring of some 100 N/m
// at 315 Hz for 0.5 mg) and without damping: real cartridges do less.
// Reference: derived: the wall loses the stylus when the spring's force square
// to it, swing/compliance, is what the wall carries.
double dw_skating_held_um(double wall_mn, double compliance);

#endif
