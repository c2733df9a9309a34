// SPDX-License-Identifier: MIT
// Least squares of many residuals with many unknowns: what cameras are calibrated by.
#ifndef DW_SIGHT_ADJUST_H
#define DW_SIGHT_ADJUST_H

#include <stdbool.h>
#include <stddef.h>

typedef struct {
    size_t unknowns, residuals;
    // Fills RESIDUALS, each in its own standard deviations, for UNKNOWNS.
    void (*fill)(const double *unknowns, double *residuals, void *user);
    void *user;
    unsigned rounds_most;
    // Fills those of RESIDUALS that depend on the unknown of INDEX, or more of them; NULL where all depend on each. The
    // others stand there already.
    void (*fill_of)(const double *unknowns, size_t index, double *residuals, void *user);
} DwAdjust;

// Given: the problem, and in ANSWER where to start; unknowns of a size near 1.
// Returned: false where nothing is found; else ANSWER, in COVARIANCE (unknowns squared, row by row; or NULL) that of
// the answer for residuals of 1, and in SETTLED (or NULL; with COVARIANCE alone) whether it is one: whether a further
// step would lower the sum of the squares by less than 1, by Newton's decrement.
// Reference: K. Levenberg (1944), D. Marquardt (1963), by GSL's gsl_multifit_nlinear.
bool dw_adjust(const DwAdjust *adjust, double *answer, double *covariance, bool *settled);

#endif
