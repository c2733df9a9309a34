// SPDX-License-Identifier: MIT
// Least-squares fit of a level, a slope and the harmonics of one known rate.
#ifndef DW_DSP_FIT_H
#define DW_DSP_FIT_H

#include <stddef.h>

enum { DW_FIT_HARMONICS_MOST = 4 };

// y ≈ level + slope·(t − centre) + Σ cosine[k]·cos(2π(k+1)·rate·t) + sine[k]·sin(…).
typedef struct {
    double centre, rate_hz;
    size_t harmonics;
    double level, slope;
    double cosine[DW_FIT_HARMONICS_MOST], sine[DW_FIT_HARMONICS_MOST];
} DwHarmonicFit;

// Given: COUNT points (TIME, VALUE) with WEIGHT (0 leaves one out; NULL: all alike), the RATE_HZ
// and the number of its HARMONICS. The slope is centred on the weighted mean time.
// Returned: the fit; all zero when the points do not determine it.
// Reference: C. F. Gauss's normal equations, solved by GSL's Cholesky decomposition.
DwHarmonicFit dw_fit_harmonics(const double *time, const double *value, const double *weight, size_t count,
                               double rate_hz, size_t harmonics);
// The harmonic part of FIT at TIME.
double dw_fit_periodic(const DwHarmonicFit *fit, double time);

#endif
