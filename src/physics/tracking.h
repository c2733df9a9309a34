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

// The same for a sine cut vertically, replayed at another vertical angle than
// it was recorded at; also the depth by which it modulates the frequency of
// whatever else is in the groove, as a share [%] with the angles' sign.
//
// Given: the signal (its velocity vertical), the groove radius [mm], the angles
// of recorded and of replayed motion to the vertical [deg].
// Returned: 100 · V/V_g · (tan recorded − tan replayed) [%].
// Accuracy: first order, as above, for a point stylus.
// Reference: derived: the cutter moves along a line of one angle, the stylus
// along one of the other, so a swing z is read z · (tan − tan) further along.
// Held against A. Woodard, AES preprint 1940 (1982), found second-hand: the
// published 4.5 % (15° against 25°, inner groove, 5 cm/s) is 4.71 % here.
double dw_tracking_vertical_distortion(DwTrackingSignal signal, double radius_mm, double recorded_deg,
                                       double replayed_deg);

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
