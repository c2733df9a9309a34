// SPDX-License-Identifier: MIT
// The arm as found, from whatever the technician read of it, how far that can
// be trusted, and the move that its headshell allows.
#ifndef DW_PROCEDURE_FOUND_SETUP_H
#define DW_PROCEDURE_FOUND_SETUP_H

#include "physics/arm_fit.h"
#include "procedure/align/arm_setup.h"
#include "procedure/align/headshell.h"

typedef enum {
    DW_FOUND_NOTHING,
    DW_FOUND_TANGENCIES, // two radii, or the one of an underhung arm, and nothing else
    DW_FOUND_READINGS,   // angular errors, tangencies and the overhang in any mix
    DW_FOUND_STATED,     // a slip, a twist, or only another mounting distance
} DwFoundWay;

// What was read, before anything is worked out of it.
typedef struct {
    DwFoundWay way;
    double distance_mm; // pivot to spindle as mounted
    DwNulls tangencies;
    DwArmReading readings[DW_ARM_FIT_MOST];
    size_t count;
    double slip_mm, twist_deg;
    // What is to be added to the body's angle to have the cantilever's, and how well it is known.
    double skew_deg, skew_deviation_deg;
} DwFoundReadings;

// What hands leave of a move that is done as told, 95 %: a judgement.
extern const double dw_found_hands_mm, dw_found_hands_deg;

// The half-widths of 95 % intervals.
typedef struct {
    double overhang_mm, offset_deg, length_mm;
    double error_deg, distortion_percent, rms_percent; // of the worst, and of the mean, as found
    double slide_mm, twist_deg;
    double after_percent, after_rms_percent, after_overhang_mm, after_offset_deg; // the move done as told
} DwFoundSpread;

typedef struct {
    DwFoundReadings readings;
    bool mounted_elsewhere; // the distance differs from the stated one
    DwArmFit fit;           // the arm as found, its cantilever's angle being the offset, and its covariance
    DwArm arm;              // as found: that of the fit
    DwArmDoubt doubt;
    bool joined;  // with where the last move should have left it
    bool strayed; // it does not stand there: what is read counts alone
    DwArm wanted; // the alignment at the distance as found
    DwShell shell;
    DwArmMove move;
    // What the propagation counted on, 95 %.
    double radius_uncertainty_mm, angle_uncertainty_deg, pivot_uncertainty_mm, overhang_uncertainty_mm;
    DwFoundSpread spread;
} DwFoundSetup;

// Reads found.* of INPUTS for the arm of SETUP. Nothing given is DW_OK with
// DW_FOUND_NOTHING; what contradicts itself is DW_BAD_INPUT with one line.
DwStatus dw_found_setup_read(const DwInputs *inputs, const DwArmSetup *setup, DwFoundSetup *found, DwMessage *message);

// The spread of what is worked out of FOUND's fit, its move being done as told.
DwFoundSpread dw_found_spread(const DwArmSetup *setup, const DwFoundSetup *found);

#endif
