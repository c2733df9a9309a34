// SPDX-License-Identifier: MIT
#include "sight/adjust.h"

#include <gsl/gsl_blas.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_multifit_nlinear.h>
#include <math.h>

static int status_of(const DwAdjust *adjust, const gsl_vector *residuals)
{
    for (size_t i = 0; i < adjust->residuals; i++)
        if (!isfinite(residuals->data[i]))
            return GSL_EDOM;
    return GSL_SUCCESS;
}

static int fill(const gsl_vector *unknowns, void *opaque, gsl_vector *residuals)
{
    const DwAdjust *adjust = opaque;
    adjust->fill(unknowns->data, residuals->data, adjust->user);
    return status_of(adjust, residuals);
}

// The residuals at AT, which differs from where they are HERE in the unknown of INDEX alone.
static int fill_beside(const DwAdjust *adjust, const gsl_vector *at, size_t index, const gsl_vector *here,
                       gsl_vector *there)
{
    if (!adjust->fill_of)
        return fill(at, (void *)(size_t)adjust, there);
    gsl_vector_memcpy(there, here);
    adjust->fill_of(at->data, index, there->data, adjust->user);
    return status_of(adjust, there);
}

// GSL's own step is a share of the unknown, and none for one that is nearly nought.
static const double difference_step = 1e-6;

static int slope(const gsl_vector *unknowns, void *opaque, gsl_matrix *jacobian)
{
    const DwAdjust *adjust = opaque;
    gsl_vector *at = gsl_vector_alloc(adjust->unknowns), *here = gsl_vector_alloc(adjust->residuals);
    gsl_vector *there = gsl_vector_alloc(adjust->residuals);
    gsl_vector_memcpy(at, unknowns);
    int status = fill(at, opaque, here);
    for (size_t i = 0; i < adjust->unknowns && status == GSL_SUCCESS; i++) {
        gsl_vector_set(at, i, gsl_vector_get(unknowns, i) + difference_step);
        status = fill_beside(adjust, at, i, here, there);
        gsl_vector_set(at, i, gsl_vector_get(unknowns, i));
        gsl_vector_sub(there, here);
        gsl_vector_scale(there, 1 / difference_step);
        gsl_matrix_set_col(jacobian, i, there);
    }
    gsl_vector_free(at);
    gsl_vector_free(here);
    gsl_vector_free(there);
    return status;
}

static bool is_finite(const gsl_vector *vector)
{
    for (size_t i = 0; i < vector->size; i++)
        if (!isfinite(gsl_vector_get(vector, i)))
            return false;
    return true;
}

// By how much a step to where the slopes here point would lower the sum of the squares.
static double decrement(gsl_multifit_nlinear_workspace *work, const gsl_matrix *covariance)
{
    gsl_vector *fall = gsl_vector_alloc(covariance->size1), *step = gsl_vector_alloc(covariance->size1);
    double lower = 0;
    gsl_blas_dgemv(CblasTrans, 1, gsl_multifit_nlinear_jac(work), gsl_multifit_nlinear_residual(work), 0, fall);
    gsl_blas_dgemv(CblasNoTrans, 1, covariance, fall, 0, step);
    gsl_blas_ddot(fall, step, &lower);
    gsl_vector_free(fall);
    gsl_vector_free(step);
    return lower;
}

static void read_answer(gsl_multifit_nlinear_workspace *work, const DwAdjust *adjust, double *answer,
                        double *covariance, bool *settled)
{
    gsl_vector *at = gsl_multifit_nlinear_position(work);
    for (size_t i = 0; i < adjust->unknowns; i++)
        answer[i] = gsl_vector_get(at, i);
    if (covariance) {
        gsl_matrix_view view = gsl_matrix_view_array(covariance, adjust->unknowns, adjust->unknowns);
        gsl_multifit_nlinear_covar(gsl_multifit_nlinear_jac(work), 0, &view.matrix);
        if (settled)
            *settled = decrement(work, &view.matrix) < 1;
    }
}

bool dw_adjust(const DwAdjust *adjust, double *answer, double *covariance, bool *settled)
{
    if (adjust->residuals < adjust->unknowns)
        return false;
    gsl_multifit_nlinear_parameters settings = gsl_multifit_nlinear_default_parameters();
    settings.solver = gsl_multifit_nlinear_solver_cholesky;
    gsl_multifit_nlinear_workspace *work =
        gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &settings, adjust->residuals, adjust->unknowns);
    gsl_multifit_nlinear_fdf problem = {
        .f = fill, .df = slope, .n = adjust->residuals, .p = adjust->unknowns, .params = (void *)(size_t)adjust};
    gsl_vector_const_view start = gsl_vector_const_view_array(answer, adjust->unknowns);
    int why = 0;
    bool begun = gsl_multifit_nlinear_init(&start.vector, &problem, work) == GSL_SUCCESS;
    if (begun)
        gsl_multifit_nlinear_driver(adjust->rounds_most, 1e-9, 1e-9, 1e-9, NULL, NULL, &why, work);
    bool found = begun && is_finite(gsl_multifit_nlinear_position(work));
    if (found)
        read_answer(work, adjust, answer, covariance, settled);
    gsl_multifit_nlinear_free(work);
    return found;
}
