// SPDX-License-Identifier: MIT
#include "dsp/knee_fit.h"

#include <gsl/gsl_multifit.h>
#include <math.h>

enum { UNKNOWNS = 5 }; // level, swing (two), fall (two)

double dw_knee_fit(const DwKneePoints *points, size_t knee, double *fall)
{
    size_t n = points->count, unknowns = knee < n ? UNKNOWNS : UNKNOWNS - 2;
    gsl_matrix *law = gsl_matrix_alloc(n, unknowns), *covariance = gsl_matrix_alloc(unknowns, unknowns);
    gsl_vector *value = gsl_vector_alloc(n), *answer = gsl_vector_alloc(unknowns);
    gsl_multifit_linear_workspace *work = gsl_multifit_linear_alloc(n, unknowns);
    double squares, after = 0;
    for (size_t i = 0; i < n; i++) {
        double angle = 2 * M_PI * points->rate_hz * points->seconds[i];
        after = knee < n && i > knee ? points->seconds[i] - points->seconds[knee] : 0;
        const double row[UNKNOWNS] = {1, cos(angle), sin(angle), after, after * after};
        for (size_t k = 0; k < unknowns; k++)
            gsl_matrix_set(law, i, k, row[k]);
        gsl_vector_set(value, i, points->values[i]);
    }
    gsl_multifit_linear(law, value, answer, covariance, &squares, work);
    if (fall)
        *fall = knee < n ? -after * (gsl_vector_get(answer, 3) + after * gsl_vector_get(answer, 4)) : 0;
    gsl_multifit_linear_free(work);
    gsl_vector_free(answer);
    gsl_vector_free(value);
    gsl_matrix_free(covariance);
    gsl_matrix_free(law);
    return squares;
}
