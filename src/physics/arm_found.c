// SPDX-License-Identifier: MIT
#include "physics/arm_found.h"

#include <math.h>

static const double degree = M_PI / 180;
static const double widest_slide_mm = 25, widest_twist_deg = 20; // of a search
static const double same_mm = 1e-9, same_deg = 1e-9;
static const double least_gain = 5e-4; // of the cost: less is not worth a screw

const double dw_headshell_screws_apart_mm = 12.7;
const double dw_headshell_stylus_ahead_mm = 9.5;

// A twist θ about the middle of the screws shifts each by 6.35 θ along the
// cartridge, on top of the slide: what the clearance leaves for it.
static double twist_left_deg(DwHeadshell headshell, double slide_mm)
{
    if (headshell.clearance_mm <= 0)
        return headshell.twist_deg;
    double left = fmax(0, headshell.clearance_mm - fabs(slide_mm));
    return left / (dw_headshell_screws_apart_mm / 2) / degree;
}

DwHeadshell dw_headshell_holes(double clearance_mm)
{
    DwHeadshell holes = {clearance_mm, clearance_mm, 0, clearance_mm};
    holes.twist_deg = twist_left_deg(holes, 0);
    return holes;
}

typedef struct {
    const DwArm *arm;
    DwAimKind kind;
} Weighted;

static double weighted_error(const void *context, double radius_mm)
{
    const Weighted *weighted = context;
    double error = fabs(dw_arm_tracking_error(weighted->arm, radius_mm)) * degree;
    switch (weighted->kind) {
    case DW_AIM_WORST_DISTORTION:
    case DW_AIM_MEAN_DISTORTION:
        return tan(error) / radius_mm;
    case DW_AIM_NULLS:
        return error / radius_mm;
    case DW_AIM_WORST_ANGLE:
        return error;
    }
    return NAN;
}

double dw_arm_aim_cost(const DwArm *arm, const DwAim *aim)
{
    double inner = aim->groove.inner_mm, outer = aim->groove.outer_mm;
    if (!dw_arm_reaches(arm, inner) || !dw_arm_reaches(arm, outer))
        return INFINITY;
    Weighted weighted = {arm, aim->kind};
    DwProfile profile = {weighted_error, &weighted};
    switch (aim->kind) {
    case DW_AIM_WORST_DISTORTION:
    case DW_AIM_WORST_ANGLE:
        return dw_profile_peak(profile, inner, outer).value;
    case DW_AIM_MEAN_DISTORTION:
        return dw_profile_rms(profile, inner, outer);
    case DW_AIM_NULLS: {
        double at_inner = weighted_error(&weighted, aim->nulls.inner_mm);
        double at_outer = isnan(aim->nulls.outer_mm) ? at_inner : weighted_error(&weighted, aim->nulls.outer_mm);
        double cost = hypot(at_inner, at_outer);
        return isnan(cost) ? INFINITY : cost;
    }
    }
    return INFINITY;
}

DwArm dw_arm_moved(const DwArm *arm, double slide_mm, double twist_deg)
{
    // Seen along the slots: the stylus lies outwards of the pivot's line by ACROSS.
    double along = arm->effective_length_mm * cos(arm->offset_deg * degree) + slide_mm;
    double across = arm->effective_length_mm * sin(arm->offset_deg * degree) -
                    dw_headshell_stylus_ahead_mm * sin(twist_deg * degree);
    return (DwArm){arm->pivot_to_spindle_mm, hypot(along, across), atan2(across, along) / degree + twist_deg};
}

// A search for the best move inside what the headshell allows.
typedef struct {
    const DwArm *found;
    const DwAim *aim;
    DwHeadshell headshell;
    double slide_mm; // of the move whose twist is sought
    double
        straight; // a straight arm's cartridge is turned straight, not for the least cost: by so much [deg]; else NAN
} Search;

static double merit_of_twist(const void *context, double twist_deg)
{
    const Search *search = context;
    DwArm moved = dw_arm_moved(search->found, search->slide_mm, twist_deg);
    return -dw_arm_aim_cost(&moved, search->aim);
}

static DwPeak best_twist(const Search *search, double slide_mm)
{
    Search at = *search;
    at.slide_mm = slide_mm;
    double most = fmin(widest_twist_deg, twist_left_deg(search->headshell, slide_mm));
    if (most <= same_deg)
        return (DwPeak){merit_of_twist(&at, 0), 0};
    if (!isnan(search->straight)) {
        double twist = fmax(-most, fmin(most, search->straight));
        return (DwPeak){merit_of_twist(&at, twist), twist};
    }
    return dw_profile_peak((DwProfile){merit_of_twist, &at}, -most, most);
}

static double merit_of_slide(const void *context, double slide_mm)
{
    return best_twist(context, slide_mm).value;
}

// Where the slide alone decides; or, with a twist, its end nearest to the one
// WANTED_MM: what is left is then made up by the twist.
static double best_slide(const Search *search, double wanted_mm)
{
    DwHeadshell headshell = search->headshell;
    double low = -fmin(headshell.back_mm, widest_slide_mm), high = fmin(headshell.forward_mm, widest_slide_mm);
    if (high - low < same_mm)
        return high;
    if (headshell.twist_deg > widest_twist_deg)
        return fmax(low, fmin(high, wanted_mm));
    return dw_profile_peak((DwProfile){merit_of_slide, search}, low, high).x;
}

static DwArmMove compromise(const DwArm *found, const DwArm *wanted, const DwArmMove *whole, DwHeadshell headshell,
                            const DwAim *aim)
{
    bool underhung = dw_arm_overhang(wanted) < 0;
    Search search = {found, aim, headshell, 0, underhung ? whole->twist_deg : NAN};
    double slide = best_slide(&search, whole->slide_mm);
    double twist = best_twist(&search, slide).x;
    return (DwArmMove){slide, twist, false, true, dw_arm_moved(found, slide, twist)};
}

DwArmMove dw_arm_move_whole(const DwArm *found, const DwArm *wanted, DwHeadshell headshell)
{
    double along = found->effective_length_mm * cos(found->offset_deg * degree);
    double sideways = found->effective_length_mm * sin(found->offset_deg * degree);
    double length = wanted->effective_length_mm, slide = 0, twist = 0;
    // The twist carries the stylus across, and that changes the slide and the twist a little.
    for (int i = 0; i < 40; i++) {
        double across = sideways - dw_headshell_stylus_ahead_mm * sin(twist * degree);
        slide = sqrt(length * length - across * across) - along;
        twist = wanted->offset_deg - atan2(across, along + slide) / degree;
    }
    DwArm after = *found;
    after.effective_length_mm = length;
    after.offset_deg = wanted->offset_deg;
    bool allowed = slide <= headshell.forward_mm + same_mm && slide >= -headshell.back_mm - same_mm &&
                   fabs(twist) <= twist_left_deg(headshell, slide) + same_deg;
    return (DwArmMove){slide, twist, allowed, true, after};
}

DwArmMove dw_arm_move_best(const DwArm *found, const DwArm *wanted, DwHeadshell headshell, const DwAim *aim)
{
    DwArmMove whole = dw_arm_move_whole(found, wanted, headshell);
    return whole.allowed ? whole : compromise(found, wanted, &whole, headshell, aim);
}

DwArmMove dw_arm_move(const DwArm *found, const DwArm *wanted, DwHeadshell headshell, const DwAim *aim)
{
    DwArmMove move = dw_arm_move_best(found, wanted, headshell, aim);
    bool nothing = fabs(move.slide_mm) < same_mm && fabs(move.twist_deg) < same_deg;
    if (!nothing && dw_arm_aim_cost(&move.after, aim) > dw_arm_aim_cost(found, aim) * (1 - least_gain))
        move = (DwArmMove){0, 0, move.allowed, false, *found};
    return move;
}

double dw_arm_twist_shift(const DwArm *arm, double twist_deg, double stylus_ahead_mm)
{
    // The stylus moves on a circle about the screws, which lie behind it along
    // the cartridge axis; the pivot lies at the origin and the stylus at (L, 0).
    double before = arm->offset_deg * degree, after = (arm->offset_deg + twist_deg) * degree;
    double x = arm->effective_length_mm + stylus_ahead_mm * (cos(after) - cos(before));
    double y = stylus_ahead_mm * (sin(after) - sin(before));
    return hypot(x, y) - arm->effective_length_mm;
}
