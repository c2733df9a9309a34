// SPDX-License-Identifier: MIT
#include "physics/tracking.h"

#include <math.h>

static const double degree = M_PI / 180;

// The signal's velocity over that of the groove under the stylus.
static double steepness(DwTrackingSignal signal, double radius_mm)
{
    double groove_cm_s = signal.speed_rpm / 60 * 2 * M_PI * radius_mm / 10;
    return signal.peak_velocity_cm_s / groove_cm_s;
}

double dw_tracking_distortion(DwTrackingSignal signal, double radius_mm, double error_deg)
{
    return 100 * steepness(signal, radius_mm) * tan(fabs(error_deg) * degree);
}

double dw_tracking_vertical_distortion(DwTrackingSignal signal, double radius_mm, double recorded_deg,
                                       double replayed_deg)
{
    return 100 * steepness(signal, radius_mm) * (tan(recorded_deg * degree) - tan(replayed_deg * degree));
}

typedef struct {
    const DwArm *arm;
    DwTrackingSignal signal;
} Tracked;

static double error_at(const void *context, double radius_mm)
{
    const Tracked *tracked = context;
    return fabs(dw_arm_tracking_error(tracked->arm, radius_mm));
}

static double weighted_error_at(const void *context, double radius_mm)
{
    return error_at(context, radius_mm) / (radius_mm / 10);
}

static double distortion_at(const void *context, double radius_mm)
{
    const Tracked *tracked = context;
    return dw_tracking_distortion(tracked->signal, radius_mm, error_at(context, radius_mm));
}

bool dw_tracking_cost(const DwArm *arm, DwGroove groove, DwTrackingSignal signal, DwTrackingCost *cost)
{
    // The sine of the tracking angle is convex or monotone in the radius, so an
    // arm that reaches both ends reaches all between them.
    if (!dw_arm_reaches(arm, groove.inner_mm) || !dw_arm_reaches(arm, groove.outer_mm))
        return false;
    Tracked tracked = {arm, signal};
    DwProfile error = {error_at, &tracked};
    DwProfile weighted = {weighted_error_at, &tracked};
    DwProfile distortion = {distortion_at, &tracked};
    *cost = (DwTrackingCost){
        .error_deg = dw_profile_peak(error, groove.inner_mm, groove.outer_mm),
        .weighted_error_deg_cm = dw_profile_peak(weighted, groove.inner_mm, groove.outer_mm),
        .distortion_percent = dw_profile_peak(distortion, groove.inner_mm, groove.outer_mm),
        .distortion_rms_percent = dw_profile_rms(distortion, groove.inner_mm, groove.outer_mm),
    };
    return true;
}

DwTrackingCost dw_tracking_linear_cost(double zenith_error_deg, DwGroove groove, DwTrackingSignal signal)
{
    double error = fabs(zenith_error_deg);
    double inner = groove.inner_mm;
    // ∫r⁻²dr over the grooves, divided by their width, is 1/(inner · outer).
    double rms_radius = sqrt(inner * groove.outer_mm);
    return (DwTrackingCost){
        .error_deg = {error, inner},
        .weighted_error_deg_cm = {error / (inner / 10), inner},
        .distortion_percent = {dw_tracking_distortion(signal, inner, error), inner},
        .distortion_rms_percent = dw_tracking_distortion(signal, rms_radius, error),
    };
}
