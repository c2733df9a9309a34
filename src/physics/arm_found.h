// SPDX-License-Identifier: MIT
// The move that brings a cartridge from where it was found to where it should
// be, as far as its headshell allows.
#ifndef DW_PHYSICS_ARM_FOUND_H
#define DW_PHYSICS_ARM_FOUND_H

#include "physics/alignment.h"
#include "physics/tracking.h"

// What is wanted of an alignment, by which one setting is better than another.
typedef enum {
    DW_AIM_WORST_DISTORTION, // least worst tan|error|/radius
    DW_AIM_MEAN_DISTORTION,  // least mean square of tan(error)/radius
    DW_AIM_WORST_ANGLE,      // least worst |error|
    DW_AIM_NULLS,            // tangent at the chosen radii: least mean square of error/radius there
} DwAimKind;

typedef struct {
    DwAimKind kind;
    DwNulls nulls; // of DW_AIM_NULLS; an outer one of NAN does not count
    DwGroove groove;
} DwAim;

// Returned: what AIM wants least, of ARM; INFINITY where it does not reach the grooves.
double dw_arm_aim_cost(const DwArm *arm, const DwAim *aim);

// How far a headshell lets its cartridge be moved; INFINITY where nothing holds it.
typedef struct {
    double forward_mm; // away from the pivot, along the cartridge axis
    double back_mm;    // towards the pivot
    double twist_deg;  // to either side
    // Plain holes: how far either screw can shift from the middle of its hole;
    // 0 for any other headshell.
    double clearance_mm;
} DwHeadshell;

extern const double dw_headshell_screws_apart_mm; // common practice, no source
extern const double dw_headshell_stylus_ahead_mm; // 9.5 ± 1 mm, IEC 98:1987

// Plain holes with so much clearance about their screws.
DwHeadshell dw_headshell_holes(double clearance_mm);

typedef struct {
    double slide_mm;  // along the cartridge axis; positive is away from the pivot
    double twist_deg; // about the middle of the screws; positive turns the nose inwards, more offset
    bool allowed;     // the headshell allows what is wanted in full
    bool helps;       // it is better by the aim than leaving the arm as found; else both are 0
    DwArm after;      // how the arm stands then
} DwArmMove;

// The move from FOUND to WANTED at the found distance from pivot to spindle:
// the slide along the cartridge as it stands, and the twist about the middle of
// its screws, which carries the stylus 9.5 mm · sin twist across.
//
// Given: the arm as found, the one wanted (its effective length and offset
// count), what the headshell allows, and by what the compromise is judged.
// Returned: the whole move where the headshell allows it, else the best one
// that it allows. A move that would not make it better is not made.
// Reference: derived: with c = L sin β − 9.5 sin θ, δ = √(L'² − c²) − L cos β and
// θ = β' − atan(c/(L cos β + δ)), iterated; the compromise by golden section, the
// twist within the slide.
DwArmMove dw_arm_move(const DwArm *found, const DwArm *wanted, DwHeadshell headshell, const DwAim *aim);

// The best move that HEADSHELL allows, whether it is better than none or not.
DwArmMove dw_arm_move_best(const DwArm *found, const DwArm *wanted, DwHeadshell headshell, const DwAim *aim);

// The whole move whatever HEADSHELL allows, which is only told of.
DwArmMove dw_arm_move_whole(const DwArm *found, const DwArm *wanted, DwHeadshell headshell);

// The arm after SLIDE_MM along the cartridge axis and TWIST_DEG about the middle of its screws.
DwArm dw_arm_moved(const DwArm *arm, double slide_mm, double twist_deg);

// How far turning a cartridge about its screws carries the stylus along the arm's line.
//
// Given: the arm, the twist [deg], and how far the stylus stands ahead of the
// line through the screws [mm] (IEC 98:1987 has 9.5 ± 1 mm).
// Returned: the change of effective length [mm].
double dw_arm_twist_shift(const DwArm *arm, double twist_deg, double stylus_ahead_mm);

#endif
