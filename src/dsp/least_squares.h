// SPDX-License-Identifier: MIT
// Least squares of a law with a few unknowns against points, with what is known of the unknowns beforehand.
#ifndef DW_DSP_LEAST_SQUARES_H
#define DW_DSP_LEAST_SQUARES_H

#include <stdbool.h>
#include <stddef.h>

enum { DW_LEAST_SQUARES_MOST = 8 }; // unknowns

typedef struct {
    // The law at X with UNKNOWNS; not finite where it has no meaning.
    double (*law)(const double *unknowns, double x, const void *user);
    const void *user;
    const double *x, *y; // the points
    size_t count;
    double deviation; // of each point; points that go together count for as many times as little, or
    // what is off of one goes with what is of another: [count × count], row by row, the lower triangle of Cholesky's
    // factor of the correlation of what they are off. NULL: each is off by its own.
    const double *factor;
    size_t unknowns;
    double expected[DW_LEAST_SQUARES_MOST], expected_deviation[DW_LEAST_SQUARES_MOST]; // beforehand
    double *covariance; // room for the answer's [unknowns × unknowns], or NULL
} DwLeastSquares;

// Given: the problem, and in ANSWER where to start.
// Returned: false where no answer is found; else ANSWER, in OFF the half-widths of the 95 % interval of each, and in
// REST the rms of what is left. The interval is the covariance's, widened where more is left than DEVIATION says.
// Reference: K. Levenberg (1944), D. Marquardt (1963), by GSL's gsl_multifit_nlinear.
bool dw_least_squares(const DwLeastSquares *problem, double *answer, double *off, double *rest);

// Puts Cholesky's factor into the lower triangle of COVARIANCE [COUNT × COUNT, row by row], which is positive definite.
// Reference: GSL's gsl_linalg_cholesky_decomp1.
void dw_least_squares_factor(double *covariance, size_t count);

#endif
