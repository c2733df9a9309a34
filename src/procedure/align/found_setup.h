// SPDX-License-Identifier: MIT
// The arm as found, from whatever the technician read of it, and how far that
// can be trusted.
#ifndef DW_PROCEDURE_FOUND_SETUP_H
#define DW_PROCEDURE_FOUND_SETUP_H

#include "physics/arm_found.h"
#include "procedure/align/arm_setup.h"

enum { DW_FOUND_READINGS_MOST = 12 };

typedef enum {
    DW_FOUND_NOTHING,
    DW_FOUND_TANGENCIES, // two radii, or the one of an underhung arm
    DW_FOUND_ERRORS,     // angular errors at two radii or more
    DW_FOUND_STATED,     // a slip, a twist, or only another mounting distance
} DwFoundWay;

// What was read, before anything is worked out of it.
typedef struct {
    DwFoundWay way;
    double distance_mm; // pivot to spindle as mounted
    DwNulls tangencies;
    DwErrorReading errors[DW_FOUND_READINGS_MOST];
    size_t error_count;
    double slip_mm, twist_deg;
    DwSlots slots;
} DwFoundReadings;

typedef struct {
    DwFoundReadings readings;
    bool mounted_elsewhere; // the distance differs from the stated one
    DwArm arm;              // as found
    DwArm wanted;           // the alignment at the distance as found
    DwArmMove move;
    bool has_slots;
    // What the propagation counted on.
    double radius_uncertainty_mm, angle_uncertainty_deg, pivot_uncertainty_mm;
    // Half-widths of 95 % intervals; NAN where a value was stated, not read.
    double overhang_uncertainty_mm, offset_uncertainty_deg;
    double slide_uncertainty_mm, twist_uncertainty_deg;
    double distortion_uncertainty_percent; // of the worst
} DwFoundSetup;

// Reads found.* of INPUTS for the arm of SETUP. Nothing given is DW_OK with
// DW_FOUND_NOTHING; what contradicts itself is DW_BAD_INPUT with one line.
DwStatus dw_found_setup_read(const DwInputs *inputs, const DwArmSetup *setup, DwFoundSetup *found, DwMessage *message);

#endif
