// SPDX-License-Identifier: MIT
#include "physics/arm_found.h"

#include "physics/arm_optimum.h"

#include <assert.h>
#include <math.h>

static const double degree = M_PI / 180;
static const double least_overhang_mm = -40;
static const double most_overhang_mm = 60;

static double angle_at(double distance_mm, double length_mm, double radius_mm)
{
    DwArm arm = {distance_mm, length_mm, 0};
    return dw_arm_tracking_angle(&arm, radius_mm);
}

// How much more the tracking angle is at the smaller radius than the readings
// say, for an arm of LENGTH_MM: it rises with the length.
static double excess(double distance_mm, double length_mm, DwErrorReading inner, DwErrorReading outer)
{
    return angle_at(distance_mm, length_mm, inner.radius_mm) - angle_at(distance_mm, length_mm, outer.radius_mm) -
           (inner.error_deg - outer.error_deg);
}

// Bisection on the length; a length that does not reach counts as too short or
// too long by the side it lies on.
static bool solve_two(double distance_mm, DwErrorReading inner, DwErrorReading outer, DwArm *arm)
{
    double low = distance_mm + least_overhang_mm, high = distance_mm + most_overhang_mm;
    while (low < high && isnan(excess(distance_mm, low, inner, outer)))
        low += 0.5;
    while (high > low && isnan(excess(distance_mm, high, inner, outer)))
        high -= 0.5;
    if (!(low < high) || excess(distance_mm, low, inner, outer) > 0 || excess(distance_mm, high, inner, outer) < 0)
        return false;
    for (int i = 0; i < 60; i++) {
        double middle = (low + high) / 2;
        if (excess(distance_mm, middle, inner, outer) < 0)
            low = middle;
        else
            high = middle;
    }
    double length = (low + high) / 2;
    *arm = (DwArm){distance_mm, length, angle_at(distance_mm, length, inner.radius_mm) - inner.error_deg};
    return true;
}

// One Gauss-Newton step of the least-squares fit; false when an arm leaves its reach.
static bool improve(const DwErrorReading *readings, size_t count, DwArm *arm)
{
    double slope_sum = 0, slope_square = 0, rest_sum = 0, rest_slope = 0;
    for (size_t i = 0; i < count; i++) {
        if (!dw_arm_reaches(arm, readings[i].radius_mm))
            return false;
        double slope = dw_arm_error_per_length(arm, readings[i].radius_mm);
        double rest = readings[i].error_deg - dw_arm_tracking_error(arm, readings[i].radius_mm);
        slope_sum += slope;
        slope_square += slope * slope;
        rest_sum += rest;
        rest_slope += rest * slope;
    }
    // Of Σ(rest − slope·δL + δβ)² the normal equations, solved for (δL, δβ).
    double n = (double)count;
    double determinant = n * slope_square - slope_sum * slope_sum;
    arm->effective_length_mm += (n * rest_slope - slope_sum * rest_sum) / determinant;
    arm->offset_deg += (slope_sum * rest_slope - slope_square * rest_sum) / determinant;
    return true;
}

bool dw_arm_found_from_errors(double pivot_to_spindle_mm, const DwErrorReading *readings, size_t count, DwArm *arm)
{
    assert(count >= 2);
    size_t inner = 0, outer = 0;
    for (size_t i = 1; i < count; i++) {
        if (readings[i].radius_mm < readings[inner].radius_mm)
            inner = i;
        if (readings[i].radius_mm > readings[outer].radius_mm)
            outer = i;
    }
    assert(readings[inner].radius_mm < readings[outer].radius_mm);
    DwArm found;
    if (!solve_two(pivot_to_spindle_mm, readings[inner], readings[outer], &found))
        return false;
    for (int i = 0; count > 2 && i < 20; i++)
        if (!improve(readings, count, &found))
            return false;
    *arm = found;
    return true;
}

DwArmMove dw_arm_move(const DwArm *found, const DwArm *wanted, DwSlots slots, DwGroove groove)
{
    double across = found->effective_length_mm * sin(found->offset_deg * degree);
    double along = found->effective_length_mm * cos(found->offset_deg * degree);
    double length = wanted->effective_length_mm;
    double slide = sqrt(length * length - across * across) - along;
    DwArmMove move = {.slide_mm = slide, .allowed = slide <= slots.forward_mm && slide >= -slots.back_mm};
    if (!move.allowed)
        move.slide_mm = slide > 0 ? slots.forward_mm : -slots.back_mm;
    DwArm slid = dw_arm_slid(found, move.slide_mm);
    move.after = slid;
    move.after.offset_deg = wanted->offset_deg;
    if (!move.allowed) {
        DwOptimumTask task = {DW_OPTIMUM_PEAK_WEIGHTED, DW_OPTIMUM_ANGLES, DW_OPTIMUM_OFFSET};
        dw_arm_optimum_find(task, groove, &move.after);
    }
    move.twist_deg = move.after.offset_deg - slid.offset_deg;
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
