// SPDX-License-Identifier: MIT
// Fit of one resonance to a sweep through it. A sweep does not wait for the
// resonance to settle: how far its output lags is part of what is fitted.
#ifndef DW_DSP_RESONANCE_FIT_H
#define DW_DSP_RESONANCE_FIT_H

#include <stdbool.h>
#include <stddef.h>

// One short-time reading of the sweep: a mean over a window.
typedef struct {
    double frequency_hz; // of the output, the mean weighted by energy
    double rate_hz_s;    // how fast the input sweeps, negative downwards
    double level_db;     // mean power
} DwResonancePoint;

typedef struct {
    double resonance_hz, q;
    double gain_db;                 // well above the resonance
    double resonance_off_hz, q_off; // half-widths of the 95 % interval
    double rest_db;                 // rms of what the fit leaves
} DwResonanceFit;

// The level that the output of x²/(1 − x² + jx/Q) has, x = f/f₀, in decibels over
// well above the resonance, as a Hann window whose power has the standard deviation
// WINDOW_S in time reads it at a point of FREQUENCY_HZ (of the output) and RATE_HZ_S
// (of the input).
// Accuracy: exact for a linear chirp but for how the output's frequency is taken,
// from its phase; 0.02 dB at Q = 8, 10 Hz and a tenth of an octave a second.
// Reference: derived: the response of a pole to exp(jωt + jω̇t²/2); F. M. Lewis,
// "Vibration during acceleration through a critical speed" (1932, from
// memory), for the lag itself.
double dw_resonance_fit_level_db(double resonance_hz, double q, const DwResonancePoint *point, double window_s);

// Given: COUNT points (8 or more) read through a window of WINDOW_S.
// Returned: false when they do not determine a resonance: none at or below 0 Hz, and not all at one frequency. Else the
// least-squares fit of f₀, Q and gain in decibels; the intervals from its covariance, the points counting as half as
// many, for their windows overlap. Reference: K. Levenberg (1944), D. Marquardt (1963), by GSL's gsl_multifit_nlinear.
bool dw_resonance_fit(const DwResonancePoint *points, size_t count, double window_s, DwResonanceFit *fit);

// A hump in a noise spectrum: what a resonance makes of broad noise that nobody
// knows but that it falls or rises evenly over the octaves.
// Given: COUNT (12 or more) levels [dB] of the density at FREQUENCY_HZ. The model is
// gain + slope·lg f + 10 lg (1 + (x/Q)²)/((1 − x²)² + (x/Q)²).
// Returned: false when no hump is found. Else f₀ and Q; gain_db is at 10 Hz.
// Accuracy: as good as the noise is even; the interval is the fit's covariance.
// Reference: derived, the headshell's motion over the groove's.
bool dw_resonance_fit_hump(const double *frequency_hz, const double *level_db, size_t count, DwResonanceFit *fit);

#endif
