// SPDX-License-Identifier: MIT
// A quantity over an interval, of which the largest value or the mean square is
// wanted: an error over the grooves, or how good an arm is over its settings.
#ifndef DW_PHYSICS_PROFILE_H
#define DW_PHYSICS_PROFILE_H

typedef struct {
    double (*at)(const void *context, double x);
    const void *context;
} DwProfile;

typedef struct {
    double value;
    double x;
} DwPeak;

// The largest value between LOW and HIGH.
//
// Given: a profile with no two peaks nearer than a fiftieth of the interval.
// Returned: the peak; at an end where the profile still rises there.
// Accuracy: 1e-9 of the interval in x where the peak is a corner, 1e-8 of the
// peak's width where it is round.
// Reference: J. Kiefer, "Sequential Minimax Search for a Maximum", Proc. AMS 4,
// 1953 (golden section), after a scan of 48 steps.
DwPeak dw_profile_peak(DwProfile profile, double low, double high);

// The root mean square between LOW and HIGH.
//
// Given: a smooth profile (its square must be; a modulus may have corners).
// Returned: √(∫ f² dx / (high − low)).
// Accuracy: 1e-6 of the value on the profiles of an arm.
// Reference: Simpson's rule on 256 intervals.
double dw_profile_rms(DwProfile profile, double low, double high);

#endif
