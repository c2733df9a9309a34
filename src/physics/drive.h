// SPDX-License-Identifier: MIT
// Belt and idler drives: the speeds, belt lengths, forces and rates that follow
// from a deck's own dimensions. Lengths in mm, rotation in rpm, angles in rad.
#ifndef DW_PHYSICS_DRIVE_H
#define DW_PHYSICS_DRIVE_H

#include <stddef.h>

// Two rims and the distance of their centres. The larger rim is the driven one. Where several motors share the belt,
// their pulleys are alike and stand round the rim at one distance, and the belt touches the rim between them.
typedef struct {
    double rim_mm;    // diameter of the driven rim
    double pulley_mm; // diameter of the pulley
    double centre_mm; // between the two centres
    double pulleys;   // on the belt; 0 counts as 1
} DwBeltPath;

// Whether a belt can run there at all: positive sizes, the rims not nested, room on the rim for the belt of all
// pulleys. Everything below that takes a path requires this.
int dw_drive_path_exists(const DwBeltPath *path);

// Length of an open belt over both rims, at the surface it touches.
//
// Given: PATH (mm). Returned: the length (mm), exact for a thin belt; for the
// belt's middle layer give both diameters with the belt's thickness added.
// Reference: 2C cos α + (π/2)(D + d) + α(D − d), sin α = (D − d)/2C; any
// machine-theory textbook. The common series is 1 % short on rim-driven decks.
// With n pulleys 2nC cos α + n d(π/2 − α) + D(π − n(π/2 − α)), the perimeter of the convex hull of the circles.
double dw_drive_belt_length_mm(const DwBeltPath *path);
// Angle the belt embraces on each pulley (rad); the rim has 2π less that of all.
double dw_drive_pulley_wrap(const DwBeltPath *path);
// Length of each of the straight parts of the belt, two a pulley (mm).
double dw_drive_free_span_mm(const DwBeltPath *path);

// Speed of a motor locked to the mains (rpm): 120 f / poles.
double dw_drive_synchronous_rpm(double mains_hz, double poles);

// Platter speed over motor speed, half the belt's thickness counted on each side.
//
// Given: diameters and thickness (mm), CREEP as a fraction (0 for none).
// Returned: (d + t)/(D + t) · (1 − creep). An idler drive is the case t = 0:
// the idler's own diameter cancels.
// Reference: standard textbook relation for belt drives with thick belts.
double dw_drive_ratio(double pulley_mm, double rim_mm, double thickness_mm, double creep);
// The pulley that gives RATIO, the inverse of the above (mm).
double dw_drive_pulley_for_ratio_mm(double ratio, double rim_mm, double thickness_mm, double creep);
// The thickness of a rubber belt (volume kept, Poisson's ratio ½) at STRETCH, a
// fraction: t/√(1 + ε) (mm).
double dw_drive_thinned_mm(double thickness_mm, double stretch);

// Tight over slack tension at the point of slipping.
//
// Given: FRICTION (1), WRAP (rad). Returned: e^(µθ).
// Reference: L. Euler, "Remarques sur l'effet du frottement dans l'équilibre", 1762
// (reference from memory), the capstan equation.
double dw_drive_tension_ratio(double friction, double wrap);
// The largest difference of tensions a belt carries without slipping.
//
// Given: TENSION_N at rest (N), FRICTION, WRAP of the pulley (rad).
// Returned: 2 T₀ (e^(µθ) − 1)/(e^(µθ) + 1) (N). Accuracy: assumes that both
// spans together keep their length, as on fixed centres with an elastic belt.
double dw_drive_grip_n(double tension_n, double friction, double wrap);

// Elastic creep as a fraction: the slack side returns less belt than the tight
// side takes.
//
// Given: FORCE_N, the difference of the tensions (N), and STIFFNESS_N, modulus
// times section (N). Returned: (T₁ − T₂)/(E A), first order in strain.
// Reference: mass flow v/(1 + ε) is the same all along the belt.
double dw_drive_creep(double force_n, double stiffness_n);

// How stiffly a belt holds the wheel that it drives, the other wheel held.
//
// Given: STIFFNESS_N (N), SPAN_MM one free span, RADIUS_MM where the belt drives.
// Returned: 2 (EA/l) R² (N·m a radian).
double dw_drive_belt_spring(double stiffness_n, double span_mm, double radius_mm);
// Torsional resonance of platter and belt, the motor held by the mains field.
//
// Given: SPRING of the belt (N·m a radian), INERTIA (kg·m²). Returned: (1/2π)√(spring/J) (Hz).
double dw_drive_torsion_hz(double spring, double inertia);

// Two belts with a wheel between them.
typedef struct {
    double first, second;  // springs: of the first belt at the wheel, of the second at the platter (N·m a radian)
    double turns;          // of the wheel in one of the platter
    double wheel, platter; // inertias (kg·m²); 0 for a wheel whose own is not known
} DwTwoBelts;

// The lower of the two resonances of a wheel between and a platter, the motor held (Hz).
//
// Method: the least root of det(K − ω²M) = 0, in turns of the platter: M = diag(J, n²Jw), K = [k₂, −k₂; −k₂, k₂ +
// n²k₁]. Reference: two masses on two springs, any textbook of vibrations (W. T. Thomson, "Theory of Vibration with
// Applications", from memory). Without the wheel's inertia the springs stand in series, and the resonance is the
// highest.
double dw_drive_torsion_of_two_hz(const DwTwoBelts *belts);
// The free span of a belt of two wheels from its inner length when fitted (mm), the first wheel so many times alike
// (pulleys of PATH, whose centre distance is not looked at); NAN where it is too short to go round them.
double dw_drive_span_of_length_mm(DwBeltPath path, double length_mm);

// Peak speed deviation (%) at the pulley's rate when it runs out by ECCENTRICITY_MM
// (centre offset): 2e over the effective diameter.
double dw_drive_eccentric_percent(double eccentricity_mm, double effective_mm);

// Names the speed of each step of a pulley by the ratios of the steps alone, so
// that the wrong mains frequency, which scales all alike, does not mislead.
//
// Given: COUNT (1 to 4) effective diameters (mm), ascending. Returned: NOMINAL_RPM,
// for each step one of 16⅔, 33⅓, 45 and 78, ascending. A single step is 33⅓.
void dw_drive_name_steps(const double *effective_mm, size_t count, double *nominal_rpm);

#endif
