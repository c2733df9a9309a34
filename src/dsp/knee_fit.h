// SPDX-License-Identifier: MIT
// A level that swings at one rate and from a knee on falls, by least squares.
#ifndef DW_DSP_KNEE_FIT_H
#define DW_DSP_KNEE_FIT_H

#include <stddef.h>

typedef struct {
    const double *seconds, *values; // ascending in time
    size_t count;
    double rate_hz; // of the swing
} DwKneePoints;

// Given: POINTS, seven or more, and the place of the KNEE among them; their count for none.
// Returned: the sum of squares that the level, the swing and the parabola from the knee on leave; in FALL (or NULL)
// how far the parabola has come down at the last point.
// Reference: C. F. Gauss's normal equations, solved by GSL's gsl_multifit_linear.
double dw_knee_fit(const DwKneePoints *points, size_t knee, double *fall);

#endif
