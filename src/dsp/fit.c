// SPDX-License-Identifier: MIT
#include "dsp/fit.h"

#include <assert.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdbool.h>

enum { UNKNOWNS_MOST = 2 + 2 * DW_FIT_HARMONICS_MOST };

// The normal equations. The columns are of one size and nearly square to each
// other, so that nothing is lost by squaring them.
typedef struct {
    size_t unknowns;
    double left[UNKNOWNS_MOST * UNKNOWNS_MOST]; // its lower half is filled
    double right[UNKNOWNS_MOST];                // after solving: the unknowns
} Equations;

static void add_point(Equations *equations, const double *column, double value, double weight)
{
    for (size_t i = 0; i < equations->unknowns; i++) {
        double weighted = weight * column[i];
        for (size_t j = 0; j <= i; j++)
            equations->left[i * equations->unknowns + j] += weighted * column[j];
        equations->right[i] += weighted * value;
    }
}

static bool solve(Equations *equations)
{
    gsl_matrix_view left = gsl_matrix_view_array(equations->left, equations->unknowns, equations->unknowns);
    gsl_vector_view right = gsl_vector_view_array(equations->right, equations->unknowns);
    bool solved = gsl_linalg_cholesky_decomp1(&left.matrix) == GSL_SUCCESS &&
                  gsl_linalg_cholesky_svx(&left.matrix, &right.vector) == GSL_SUCCESS;
    return solved;
}

// Cosine and sine of ANGLE and its multiples, by turning on.
static void harmonics_at(double angle, size_t harmonics, double *values)
{
    double c = cos(angle), s = sin(angle), re = 1, im = 0;
    for (size_t k = 0; k < harmonics; k++) {
        double next = re * c - im * s;
        im = im * c + re * s;
        re = next;
        values[2 * k] = re;
        values[2 * k + 1] = im;
    }
}

static double farthest(const double *time, size_t count, double centre)
{
    double most = 0;
    for (size_t i = 0; i < count; i++)
        most = fmax(most, fabs(time[i] - centre));
    return most;
}

static double weight_of(const double *weight, size_t i)
{
    return weight ? weight[i] : 1;
}

DwHarmonicFit dw_fit_harmonics(const double *time, const double *value, const double *weight, size_t count,
                               double rate_hz, size_t harmonics)
{
    assert(harmonics <= DW_FIT_HARMONICS_MOST);
    DwHarmonicFit fit = {.rate_hz = rate_hz, .harmonics = harmonics};
    size_t unknowns = 2 + 2 * harmonics;
    double total = 0, moment = 0;
    for (size_t i = 0; i < count; i++) {
        total += weight_of(weight, i);
        moment += weight_of(weight, i) * time[i];
    }
    if (count < unknowns || total <= 0)
        return fit;
    fit.centre = moment / total;
    double scale = farthest(time, count, fit.centre);
    if (!(scale > 0))
        return fit;
    Equations equations = {.unknowns = unknowns};
    for (size_t i = 0; i < count; i++) {
        double column[UNKNOWNS_MOST] = {1, (time[i] - fit.centre) / scale};
        harmonics_at(2 * M_PI * rate_hz * time[i], harmonics, column + 2);
        add_point(&equations, column, value[i], weight_of(weight, i));
    }
    if (!solve(&equations))
        return fit;
    fit.level = equations.right[0];
    fit.slope = equations.right[1] / scale;
    for (size_t k = 0; k < harmonics; k++) {
        fit.cosine[k] = equations.right[2 + 2 * k];
        fit.sine[k] = equations.right[3 + 2 * k];
    }
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
