// SPDX-License-Identifier: MIT
#include "physics/arm_optimum.h"

#include <math.h>

static const double degree = M_PI / 180;
static const double length_span_mm = 30;
static const double both_lengths_span_mm = 120;
static const double offset_span_deg = 15;

// One arm under trial.
typedef struct {
    const DwOptimumTask *task;
    const DwArm *arm;
} Trial;

static double error_at(const void *context, double radius_mm)
{
    const Trial *trial = context;
    double error = dw_arm_tracking_error(trial->arm, radius_mm) * degree;
    switch (trial->task->form) {
    case DW_OPTIMUM_SINES:
        error = sin(dw_arm_tracking_angle(trial->arm, radius_mm) * degree) - sin(trial->arm->offset_deg * degree);
        break;
    case DW_OPTIMUM_TANGENTS:
        error = tan(error);
        break;
    case DW_OPTIMUM_ANGLES:
        break;
    }
    return fabs(trial->task->criterion == DW_OPTIMUM_PEAK_ERROR ? error : error / radius_mm);
}

// How good ARM is: the negative of what the criterion wants least.
static double merit(const DwOptimumTask *task, DwGroove groove, const DwArm *arm)
{
    if (!dw_arm_reaches(arm, groove.inner_mm) || !dw_arm_reaches(arm, groove.outer_mm))
        return -INFINITY;
    Trial trial = {task, arm};
    DwProfile error = {error_at, &trial};
    if (task->criterion == DW_OPTIMUM_RMS_WEIGHTED)
        return -dw_profile_rms(error, groove.inner_mm, groove.outer_mm);
    return -dw_profile_peak(error, groove.inner_mm, groove.outer_mm).value;
}

// A search over one free setting around a first guess.
typedef struct {
    DwOptimumTask task;
    DwGroove groove;
    DwArm guess;
} Search;

// The first guess with its free setting changed by CHANGE.
static DwArm changed(const Search *search, double change)
{
    DwArm arm = search->guess;
    switch (search->task.free) {
    case DW_OPTIMUM_OFFSET:
        arm.offset_deg += change;
        break;
    case DW_OPTIMUM_LENGTH:
    case DW_OPTIMUM_LENGTH_AND_OFFSET:
        arm.effective_length_mm += change;
        break;
    case DW_OPTIMUM_DISTANCE:
        arm.pivot_to_spindle_mm += change;
        break;
    case DW_OPTIMUM_BOTH_LENGTHS:
        arm.pivot_to_spindle_mm += change;
        arm.effective_length_mm += change;
        break;
    case DW_OPTIMUM_OUTER_NULL: {
        DwNulls nulls;
        if (!dw_arm_nulls(&search->guess, &nulls))
            return (DwArm){NAN, NAN, NAN};
        nulls.outer_mm += change;
        arm = dw_arm_at_distance(nulls, arm.pivot_to_spindle_mm);
        break;
    }
    }
    return arm;
}

static double span_of(DwOptimumFree setting)
{
    switch (setting) {
    case DW_OPTIMUM_OFFSET:
        return offset_span_deg;
    case DW_OPTIMUM_BOTH_LENGTHS:
        return both_lengths_span_mm;
    case DW_OPTIMUM_LENGTH:
    case DW_OPTIMUM_DISTANCE:
    case DW_OPTIMUM_OUTER_NULL:
    case DW_OPTIMUM_LENGTH_AND_OFFSET:
        return length_span_mm;
    }
    return length_span_mm;
}

static double merit_of_change(const void *context, double change)
{
    const Search *search = context;
    DwArm arm = changed(search, change);
    if (search->task.free != DW_OPTIMUM_LENGTH_AND_OFFSET)
        return merit(&search->task, search->groove, &arm);
    // At each length the offset is set to its own best.
    Search within = {search->task, search->groove, arm};
    within.task.free = DW_OPTIMUM_OFFSET;
    DwProfile profile = {merit_of_change, &within};
    return dw_profile_peak(profile, -offset_span_deg, offset_span_deg).value;
}

bool dw_arm_optimum_find(DwOptimumTask task, DwGroove groove, DwArm *arm)
{
    Search search = {task, groove, *arm};
    DwProfile profile = {merit_of_change, &search};
    double span = span_of(task.free);
    DwPeak best = dw_profile_peak(profile, -span, span);
    if (!isfinite(best.value) || fabs(best.x) >= span)
        return false;
    DwArm found = changed(&search, best.x);
    if (task.free == DW_OPTIMUM_LENGTH_AND_OFFSET) {
        task.free = DW_OPTIMUM_OFFSET;
        if (!dw_arm_optimum_find(task, groove, &found))
            return false;
    }
    *arm = found;
    return true;
}
