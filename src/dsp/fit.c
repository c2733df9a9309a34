// SPDX-License-Identifier: MIT
#include "dsp/fit.h"

#include <assert.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_multifit.h>
#include <math.h>

DwHarmonicFit dw_fit_harmonics(const double *time, const double *value, const double *weight, size_t count,
                               double rate_hz, size_t harmonics)
{
    assert(harmonics <= DW_FIT_HARMONICS_MOST);
    DwHarmonicFit fit = {.rate_hz = rate_hz, .harmonics = harmonics};
    size_t unknowns = 2 + 2 * harmonics;
    double total = 0, moment = 0;
    for (size_t i = 0; i < count; i++) {
        total += weight[i];
        moment += weight[i] * time[i];
    }
    if (count < unknowns || total <= 0)
        return fit;
    fit.centre = moment / total;
    gsl_matrix *columns = gsl_matrix_alloc(count, unknowns);
    gsl_matrix *covariance = gsl_matrix_alloc(unknowns, unknowns);
    gsl_vector *answer = gsl_vector_alloc(unknowns);
    gsl_multifit_linear_workspace *workspace = gsl_multifit_linear_alloc(count, unknowns);
    double scale = fmax(fabs(time[0] - fit.centre), fabs(time[count - 1] - fit.centre));
    for (size_t i = 0; i < count; i++) {
        gsl_matrix_set(columns, i, 0, 1);
        gsl_matrix_set(columns, i, 1, (time[i] - fit.centre) / scale);
        for (size_t k = 0; k < harmonics; k++) {
            double angle = 2 * M_PI * (double)(k + 1) * rate_hz * time[i];
            gsl_matrix_set(columns, i, 2 + 2 * k, cos(angle));
            gsl_matrix_set(columns, i, 3 + 2 * k, sin(angle));
        }
    }
    gsl_vector_const_view values = gsl_vector_const_view_array(value, count);
    gsl_vector_const_view weights = gsl_vector_const_view_array(weight, count);
    double chi_squared = 0;
    gsl_error_handler_t *handler = gsl_set_error_handler_off();
    int trouble =
        gsl_multifit_wlinear(columns, &weights.vector, &values.vector, answer, covariance, &chi_squared, workspace);
    gsl_set_error_handler(handler);
    if (!trouble) {
        fit.level = gsl_vector_get(answer, 0);
        fit.slope = gsl_vector_get(answer, 1) / scale;
        for (size_t k = 0; k < harmonics; k++) {
            fit.cosine[k] = gsl_vector_get(answer, 2 + 2 * k);
            fit.sine[k] = gsl_vector_get(answer, 3 + 2 * k);
        }
    }
    gsl_multifit_linear_free(workspace);
    gsl_vector_free(answer);
    gsl_matrix_free(covariance);
    gsl_matrix_free(columns);
    return fit;
}

double dw_fit_periodic(const DwHarmonicFit *fit, double time)
{
    double sum = 0;
    for (size_t k = 0; k < fit->harmonics; k++) {
        double angle = 2 * M_PI * (double)(k + 1) * fit->rate_hz * time;
        sum += fit->cosine[k] * cos(angle) + fit->sine[k] * sin(angle);
    }
    return sum;
}
