// SPDX-License-Identifier: MIT
// The arm that a set of readings belongs to, how well it is known then, and
// which reading does not belong to any arm that the others tell of.
#ifndef DW_PHYSICS_ARM_FIT_H
#define DW_PHYSICS_ARM_FIT_H

#include "physics/arm.h"

#include <stddef.h>

enum { DW_ARM_FIT_MOST = 20 }; // readings

typedef enum {
    DW_ARM_READ_ERROR,    // the tracking error at a radius [deg]
    DW_ARM_READ_TANGENCY, // a radius at which it is nought
    DW_ARM_READ_OVERHANG, // how far the stylus swings past the spindle [mm]
    DW_ARM_READ_ARC,      // how far beyond a drawn arc it falls at a radius [mm]
} DwArmReadingKind;

typedef struct {
    DwArmReadingKind kind;
    double radius_mm; // of the error, tangency or arc
    double value;     // the error [deg], overhang or miss of the arc [mm]; 0 for a tangency
    // Standard deviations of what was read; of a tangency the radius's alone counts.
    double radius_deviation_mm, value_deviation;
} DwArmReading;

// What is known before anything is read: where the search begins, and how well
// the distance from pivot to spindle was measured.
typedef struct {
    DwArm arm;
    double distance_deviation_mm;
    DwArm drawn;               // whose arc was read against, where one was
    double turn_deviation_deg; // of its paper about the spindle, which all its readings share
} DwArmPrior;

typedef struct {
    DwArm arm;
    double covariance[3][3]; // of distance [mm], effective length [mm], offset [deg], as the deviations say
    double chi_square;       // of the readings about it
    int freedom;             // readings beyond the two that any arm needs
    double residual_deg;     // rms of the readings about it over the freedom; NAN without any
} DwArmFit;

// The least-squares arm.
//
// Given: COUNT readings, 2 to DW_ARM_FIT_MOST, that fix an arm: at two
// different places at least.
// Returned: whether an arm with an overhang between −40 and 60 mm fits; *FIT is
// written only then. An overhang's or an arc's residual counts in degrees by ∂ε/∂L at 90 mm.
// Accuracy: 1e-9 mm and 1e-9° on exact readings.
// Reference: Gauss–Newton with step halving on (d, L, β), weights 1/σ², the
// measured distance and the turn of the arc's paper being observations of their own; C. F. Gauss, Theoria
// combinationis, 1821.
bool dw_arm_fit(const DwArmReading *readings, size_t count, const DwArmPrior *prior, DwArmFit *fit);

// The arm at Z times the standard deviations of FIT along its three axes.
// Returned: FIT's arm moved by the covariance's Cholesky factor times Z.
DwArm dw_arm_fit_at(const DwArmFit *fit, const double z[3]);

typedef struct {
    bool doubtful;   // the readings belong to no one arm (χ² beyond its 99th hundredth)
    size_t suspect;  // the reading without which the rest agree best
    bool other_sign; // with its sign turned it agrees
    bool has_second; // another one, left out instead, makes them agree as well
    size_t second;
    bool all_turned; // or every angle has its sign turned: then all agree
    bool rest_agree; // without the suspect the others agree
    DwArm without;   // the arm of the others, the suspect's sign turned where that agrees
} DwArmDoubt;

// Whether the readings agree, and if not, which one to take again.
//
// Given: the readings of FIT (NULL where no arm fits them) and the prior, whose arm is also what a technician
// would expect: within some 3 mm and 2° (one standard deviation, a
// judgement), which decides only where the readings cannot.
// Returned: the doubt; suspect and what follows are defined when doubtful.
// Reference: W. G. Cochran's test of χ²; leaving out one reading at a time.
DwArmDoubt dw_arm_fit_doubt(const DwArmReading *readings, size_t count, const DwArmPrior *prior, const DwArmFit *fit);

#endif
