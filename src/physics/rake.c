// SPDX-License-Identifier: MIT
#include "physics/rake.h"

#include <assert.h>
#include <math.h>

double dw_rake_from_points(DwRakePoint tip, DwRakePoint top, DwRakePoint pivot_side)
{
    double ax = top.x - tip.x, ay = top.y - tip.y;
    double bx = pivot_side.x - tip.x, by = pivot_side.y - tip.y;
    if ((ax == 0 && ay == 0) || (bx == 0 && by == 0))
        return NAN;
    return atan2(fabs(ax * by - ay * bx), ax * bx + ay * by);
}

double dw_rake_point_deviation(DwRakePoint tip, DwRakePoint top, DwRakePoint pivot_side, double error)
{
    double a = hypot(top.x - tip.x, top.y - tip.y);
    double b = hypot(pivot_side.x - tip.x, pivot_side.y - tip.y);
    if (a == 0 || b == 0)
        return NAN;
    double angle = dw_rake_from_points(tip, top, pivot_side);
    return error * sqrt(2 / (a * a) + 2 / (b * b) - 2 * cos(angle) / (a * b));
}

// The stylus's distance from the horizontal bearing's axis, in plan.
static double lever_mm(const DwRakeArm *arm)
{
    return arm->length_mm * cos(arm->axis_turn);
}

DwRakeTilt dw_rake_tilt(const DwRakeArm *arm, double rise_mm)
{
    double tilt = asin(fmax(-1, fmin(1, rise_mm / lever_mm(arm))));
    double turn = arm->offset - arm->axis_turn;
    return (DwRakeTilt){.tilt = tilt, .pitch = tilt * cos(turn), .roll = tilt * sin(turn)};
}

double dw_rake_rise_mm(const DwRakeArm *arm, double change)
{
    return lever_mm(arm) * sin(change / cos(arm->offset - arm->axis_turn));
}

double dw_rake_length_change_mm(double length_mm, double bearing_height_mm, double rise_mm)
{
    double height = bearing_height_mm + rise_mm;
    double squared = length_mm * length_mm + bearing_height_mm * bearing_height_mm - height * height;
    return squared > 0 ? sqrt(squared) - length_mm : NAN;
}

double dw_rake_wedge_mm(double base_mm, double change)
{
    return base_mm * tan(change);
}

static int bits_set(unsigned word)
{
    int count = 0;
    for (; word; word &= word - 1)
        count++;
    return count;
}

static double stack_height(const double *shims_mm, size_t count, unsigned taken)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++)
        if (taken >> i & 1)
            sum += shims_mm[i];
    return sum;
}

unsigned dw_rake_stack(const double *shims_mm, size_t count, double wanted_mm)
{
    assert(count <= 20);
    unsigned best = 0;
    double best_miss = fabs(wanted_mm);
    for (unsigned taken = 1; taken < 1u << count; taken++) {
        double miss = fabs(stack_height(shims_mm, count, taken) - wanted_mm);
        // A micrometre is less than any shim is true to: within it fewer shims win.
        if (miss < best_miss - 1e-3 || (miss < best_miss + 1e-3 && bits_set(taken) < bits_set(best))) {
            best = taken;
            best_miss = miss;
        }
    }
    return best;
}
