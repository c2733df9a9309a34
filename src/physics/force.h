// SPDX-License-Identifier: MIT
// Tracking force and the balance of a pivoted arm about its horizontal bearing.
// Forces in g are grams of force, as a stylus scale reads; 1 g is 9.80665 mN.
#ifndef DW_PHYSICS_FORCE_H
#define DW_PHYSICS_FORCE_H

#include <stddef.h>

#define DW_FORCE_MN_PER_G 9.80665 // standard gravity, exact (CGPM 1901)

typedef struct {
    double mean;
    double deviation;  // standard deviation of the single readings; 0 for one reading
    double half_width; // of the 95 % interval of the mean (Student); 0 for one reading
} DwForceMean;

// The mean of repeated readings and how well it is known.
// Given: readings[count], count >= 1.
// Returned: mean, standard deviation (n − 1), and t(0.975, n − 1)·s/√n.
// Accuracy: exact for readings that scatter normally.
// Reference: Student, "The Probable Error of a Mean", Biometrika, 1908.
DwForceMean dw_force_mean(const double *readings, size_t count);

// How far the counterweight moves towards the pivot.
// Given: force_change_g wanted [g], front_change_g: mass added at the stylus
// [g], length_mm: pivot to stylus [mm], weight_g: counterweight [g].
// Returned: the move [mm], positive towards the pivot.
// Accuracy: exact for a gravity-balanced arm; an arm whose force is applied by
// a spring needs only the part for front_change_g.
// Reference: moments about the bearing, weight·x = front moment − force·length.
double dw_force_shift_mm(double force_change_g, double front_change_g, double length_mm, double weight_g);

// How much the arm's effective mass changes when its counterweight moves.
// Given: weight_g [g], from_mm and to_mm: the weight's centre to the pivot
// [mm], length_mm [mm].
// Returned: the change at the stylus [g], to be added to what was fitted there.
// Accuracy: exact for a weight that moves without turning: its own inertia
// about its centre does not change.
// Reference: inertia over length squared, parallel-axis theorem.
double dw_force_mass_change_g(double weight_g, double from_mm, double to_mm, double length_mm);

// What the arm's tilt does to its force.
typedef struct {
    double length_mm;         // pivot to stylus, in plan
    double weight_g;          // counterweight
    double weight_drop_mm;    // how far its centre lies below the bearing axis
    double bearing_height_mm; // the bearing axis above the stylus tip
} DwForceBalance;

// The force when the stylus stands RISE_MM higher than where the force is FORCE_G.
// Given: the balance, force_g at rise 0 [g], rise_mm [mm], positive up.
// Returned: the force at that height [g].
// Accuracy: exact for a rigid arm whose front balances the rest of its own
// height; only the counterweight's drop is counted.
// Reference: moments about the bearing, derived: N = (N₀L + w·drop·tan θ) /
// (L + h tan θ) with tan θ = rise/L.
double dw_force_at_rise_g(const DwForceBalance *balance, double force_g, double rise_mm);

// The inverse: the force at rise 0 of an arm whose force is FORCE_G at RISE_MM.
double dw_force_from_rise_g(const DwForceBalance *balance, double force_g, double rise_mm);

#endif
