// SPDX-License-Identifier: MIT
#include "dsp/least_squares.h"

#include <gsl/gsl_blas.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_multifit_nlinear.h>
#include <math.h>

enum { STEPS_MOST = 200 };
static const double SLOPE_STEP = 1e-4; // of an unknown, and of LEAST of its deviation beforehand where it is less
static const double LEAST = 1e-3;

// Makes what the points are off, which goes together, of its own each.
static void part(const DwLeastSquares *problem, gsl_vector *off)
{
    gsl_vector_view points = gsl_vector_subvector(off, 0, problem->count);
    gsl_matrix_const_view factor = gsl_matrix_const_view_array(problem->factor, problem->count, problem->count);
    gsl_blas_dtrsv(CblasLower, CblasNoTrans, CblasNonUnit, &factor.matrix, &points.vector);
}

// The points' residuals over their deviation, then the unknowns' over theirs.
static int residuals(const gsl_vector *unknowns, void *user, gsl_vector *off)
{
    const DwLeastSquares *problem = user;
    double values[DW_LEAST_SQUARES_MOST];
    for (size_t k = 0; k < problem->unknowns; k++) {
        values[k] = gsl_vector_get(unknowns, k);
        gsl_vector_set(off, problem->count + k, (values[k] - problem->expected[k]) / problem->expected_deviation[k]);
    }
    for (size_t i = 0; i < problem->count; i++) {
        double law = problem->law(values, problem->x[i], problem->user);
        if (!isfinite(law))
            return GSL_EDOM;
        gsl_vector_set(off, i, (law - problem->y[i]) / problem->deviation);
    }
    if (problem->factor)
        part(problem, off);
    return GSL_SUCCESS;
}

// How the residuals move with each unknown, by what they are a little to either side, or to one where the law has no
// meaning at the other.
static int slopes(const gsl_vector *unknowns, void *user, gsl_matrix *slope)
{
    const DwLeastSquares *problem = user;
    gsl_vector *at = gsl_vector_alloc(unknowns->size), *before = gsl_vector_alloc(slope->size1),
               *after = gsl_vector_alloc(slope->size1);
    bool sound = true;
    for (size_t k = 0; k < unknowns->size && sound; k++) {
        double least = LEAST * problem->expected_deviation[k], size = fmax(fabs(gsl_vector_get(unknowns, k)), least);
        double from = SLOPE_STEP * size, to = from;
        gsl_vector_memcpy(at, unknowns);
        gsl_vector_set(at, k, gsl_vector_get(unknowns, k) - from);
        if (residuals(at, user, before) != GSL_SUCCESS) {
            sound = residuals(unknowns, user, before) == GSL_SUCCESS;
            from = 0;
        }
        gsl_vector_set(at, k, gsl_vector_get(unknowns, k) + to);
        if (residuals(at, user, after) != GSL_SUCCESS) {
            sound = sound && from > 0 && residuals(unknowns, user, after) == GSL_SUCCESS;
            to = 0;
        }
        gsl_vector_sub(after, before);
        gsl_vector_scale(after, 1 / (from + to));
        gsl_matrix_set_col(slope, k, after);
    }
    gsl_vector_free(at);
    gsl_vector_free(before);
    gsl_vector_free(after);
    return sound ? GSL_SUCCESS : GSL_EDOM;
}

static bool take_answer(const DwLeastSquares *problem, gsl_multifit_nlinear_workspace *workspace, double *answer,
                        double *off, double *rest)
{
    const gsl_vector *found = gsl_multifit_nlinear_position(workspace),
                     *left = gsl_multifit_nlinear_residual(workspace);
    double squares = 0;
    bool sound = true;
    for (size_t i = 0; i < problem->count; i++)
        squares += gsl_vector_get(left, i) * gsl_vector_get(left, i);
    double mean = squares / (double)problem->count;
    gsl_matrix *covariance = gsl_matrix_alloc(problem->unknowns, problem->unknowns);
    gsl_multifit_nlinear_covar(gsl_multifit_nlinear_jac(workspace), 0, covariance);
    for (size_t k = 0; k < problem->unknowns; k++) {
        answer[k] = gsl_vector_get(found, k);
        off[k] = 1.96 * sqrt(fmax(1, mean) * gsl_matrix_get(covariance, k, k));
        sound = sound && isfinite(answer[k] + off[k]);
        for (size_t m = 0; problem->covariance && m < problem->unknowns; m++)
            problem->covariance[k * problem->unknowns + m] = fmax(1, mean) * gsl_matrix_get(covariance, k, m);
    }
    *rest = problem->deviation * sqrt(mean);
    gsl_matrix_free(covariance);
    return sound;
}

bool dw_least_squares(const DwLeastSquares *problem, double *answer, double *off, double *rest)
{
    if (problem->count < problem->unknowns)
        return false;
    gsl_multifit_nlinear_fdf equations = {.f = residuals,
                                          .df = slopes,
                                          .n = problem->count + problem->unknowns,
                                          .p = problem->unknowns,
                                          .params = (void *)problem};
    gsl_multifit_nlinear_parameters parameters = gsl_multifit_nlinear_default_parameters();
    gsl_multifit_nlinear_workspace *workspace =
        gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &parameters, equations.n, equations.p);
    gsl_vector_view begin = gsl_vector_view_array(answer, equations.p);
    int info;
    bool found = gsl_multifit_nlinear_init(&begin.vector, &equations, workspace) == GSL_SUCCESS &&
                 gsl_multifit_nlinear_driver(STEPS_MOST, 1e-8, 1e-8, 0, NULL, NULL, &info, workspace) == GSL_SUCCESS &&
                 take_answer(problem, workspace, answer, off, rest);
    gsl_multifit_nlinear_free(workspace);
    return found;
}

void dw_least_squares_factor(double *covariance, size_t count)
{
    gsl_matrix_view matrix = gsl_matrix_view_array(covariance, count, count);
    gsl_linalg_cholesky_decomp1(&matrix.matrix);
}
