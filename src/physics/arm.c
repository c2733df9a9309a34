// SPDX-License-Identifier: MIT
#include "physics/arm.h"

#include <math.h>

static const double degree = M_PI / 180;

double dw_arm_overhang(const DwArm *arm)
{
    return arm->effective_length_mm - arm->pivot_to_spindle_mm;
}

// The sine of the tracking angle, which is beyond ±1 where the arm does not reach.
static double sine_of_angle(const DwArm *arm, double radius_mm)
{
    double length = arm->effective_length_mm;
    double distance = arm->pivot_to_spindle_mm;
    // (L − d)(L + d) instead of L² − d²: the overhang is a small difference.
    return ((length - distance) * (length + distance) + radius_mm * radius_mm) / (2 * length * radius_mm);
}

bool dw_arm_reaches(const DwArm *arm, double radius_mm)
{
    return radius_mm > 0 && fabs(sine_of_angle(arm, radius_mm)) <= 1;
}

double dw_arm_tracking_angle(const DwArm *arm, double radius_mm)
{
    return dw_arm_reaches(arm, radius_mm) ? asin(sine_of_angle(arm, radius_mm)) / degree : NAN;
}

double dw_arm_tracking_error(const DwArm *arm, double radius_mm)
{
    return dw_arm_tracking_angle(arm, radius_mm) - arm->offset_deg;
}

bool dw_arm_nulls(const DwArm *arm, DwNulls *nulls)
{
    double length = arm->effective_length_mm;
    double half_sum = length * sin(arm->offset_deg * degree);
    double product = dw_arm_overhang(arm) * (length + arm->pivot_to_spindle_mm);
    double square = half_sum * half_sum - product;
    if (square < 0)
        return false;
    double outer = half_sum + sqrt(square);
    if (outer <= 0)
        return false;
    // Of the two roots the one that would cancel digits is had from the product.
    double inner = half_sum >= 0 ? product / outer : half_sum - sqrt(square);
    *nulls = inner > 0 ? (DwNulls){inner, outer} : (DwNulls){outer, NAN};
    return true;
}

static double offset_of(DwNulls nulls, double effective_length_mm)
{
    return asin((nulls.inner_mm + nulls.outer_mm) / (2 * effective_length_mm)) / degree;
}

DwArm dw_arm_at_distance(DwNulls nulls, double pivot_to_spindle_mm)
{
    double length = sqrt(pivot_to_spindle_mm * pivot_to_spindle_mm + nulls.inner_mm * nulls.outer_mm);
    return (DwArm){pivot_to_spindle_mm, length, offset_of(nulls, length)};
}

DwArm dw_arm_at_length(DwNulls nulls, double effective_length_mm)
{
    double distance = sqrt(effective_length_mm * effective_length_mm - nulls.inner_mm * nulls.outer_mm);
    return (DwArm){distance, effective_length_mm, offset_of(nulls, effective_length_mm)};
}

DwArm dw_arm_at_overhang(DwNulls nulls, double overhang_mm)
{
    double length = (nulls.inner_mm * nulls.outer_mm / overhang_mm + overhang_mm) / 2;
    return (DwArm){length - overhang_mm, length, offset_of(nulls, length)};
}

DwArm dw_arm_at_offset(DwNulls nulls, double offset_deg)
{
    double length = (nulls.inner_mm + nulls.outer_mm) / (2 * sin(offset_deg * degree));
    DwArm arm = dw_arm_at_length(nulls, length);
    arm.offset_deg = offset_deg;
    return arm;
}

double dw_arm_error_per_length(const DwArm *arm, double radius_mm)
{
    double sine = sine_of_angle(arm, radius_mm);
    return (1 / radius_mm - sine / arm->effective_length_mm) / sqrt(1 - sine * sine) / degree;
}

double dw_arm_error_per_distance(const DwArm *arm, double radius_mm)
{
    double sine = sine_of_angle(arm, radius_mm);
    return -arm->pivot_to_spindle_mm / (arm->effective_length_mm * radius_mm * sqrt(1 - sine * sine)) / degree;
}

double dw_arm_arc_miss(const DwArm *arm, const DwArm *drawn, double turn_deg, double radius_mm)
{
    if (!dw_arm_reaches(arm, radius_mm))
        return NAN;
    double distance = arm->pivot_to_spindle_mm, length = arm->effective_length_mm, paper = drawn->pivot_to_spindle_mm;
    double at_spindle =
        acos((radius_mm * radius_mm + (distance - length) * (distance + length)) / (2 * radius_mm * distance));
    double x = radius_mm * cos(at_spindle), y = radius_mm * sin(at_spindle), turn = turn_deg * M_PI / 180;
    return hypot(x - paper * cos(turn), y - paper * sin(turn)) - drawn->effective_length_mm;
}

DwArm dw_arm_slid(const DwArm *arm, double slide_mm)
{
    double along = arm->effective_length_mm * cos(arm->offset_deg * degree) + slide_mm;
    double across = arm->effective_length_mm * sin(arm->offset_deg * degree);
    return (DwArm){arm->pivot_to_spindle_mm, hypot(along, across), atan2(across, along) / degree};
}

double dw_arm_length_when_lifted(double effective_length_mm, double bearing_height_mm, double lift_mm)
{
    double lower = bearing_height_mm - lift_mm;
    double reach = hypot(effective_length_mm, bearing_height_mm);
    return sqrt(reach * reach - lower * lower) - effective_length_mm;
}
