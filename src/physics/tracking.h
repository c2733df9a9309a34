// SPDX-License-Identifier: MIT
// What an arm's tracking error costs over the grooves of a record: the error,
// the error weighted by 1/radius, and the second harmonic it makes.
#ifndef DW_PHYSICS_TRACKING_H
#define DW_PHYSICS_TRACKING_H

#include "physics/alignment.h"
#include "physics/profile.h"

// The signal that a distortion is stated for. The trade's papers use a peak
// lateral velocity of 10 cm/s at 33⅓ rpm, without replay weighting.
typedef struct {
    double peak_velocity_cm_s; // lateral
    double speed_rpm;
} DwTrackingSignal;

// Second harmonic of a sine cut laterally, replayed with a tracking error.
//
// Given: the signal, the groove radius [mm], the tracking error [deg].
// Returned: the amplitude of the second harmonic's velocity as a share of the
// fundamental's [%], not weighted by the replay characteristic.
// Accuracy: first order in V/V_g · tan ε, point stylus; solving the stylus path
// numerically at 10 cm/s and 2° gives 1.6583 % against 1.6584 %.
// Reference: H. G. Baerwald, "Analytic Treatment of Tracking Error and Notes on
// Optimal Pick-up Design", J. SMPE 37, December 1941, eq. 1 (read in a summary
// of it); the same in E. Löfgren 1938.
double dw_tracking_distortion(DwTrackingSignal signal, double radius_mm, double error_deg);

// The worst values are magnitudes; their x is the radius they lie at [mm].
typedef struct {
    DwPeak error_deg;
    DwPeak weighted_error_deg_cm; // |error| per centimetre of radius
    DwPeak distortion_percent;
    double distortion_rms_percent; // over radius
} DwTrackingCost;

// What the error of ARM costs over GROOVE.
//
// Given: an arm, the groove radii [mm] and the signal.
// Returned: whether the arm reaches every groove between the two radii; *COST
// is written only then.
// Accuracy: that of physics/profile.h.
bool dw_tracking_cost(const DwArm *arm, DwGroove groove, DwTrackingSignal signal, DwTrackingCost *cost);

// The same for a linear arm, whose error is the one ZENITH_ERROR_DEG everywhere.
DwTrackingCost dw_tracking_linear_cost(double zenith_error_deg, DwGroove groove, DwTrackingSignal signal);

#endif
