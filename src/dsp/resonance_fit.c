// SPDX-License-Identifier: MIT
#include "dsp/resonance_fit.h"

#include <complex.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_multifit_nlinear.h>
#include <math.h>

enum { UNKNOWNS = 3, STEPS_MOST = 100 };
static const double HANN_SPREAD = 0.14145; // of a Hann window's power, its standard deviation over its length
static const double OVERLAP = 2;           // of the windows: so many points tell as much as one

typedef struct {
    const DwResonancePoint *points;
    size_t count;
    double window_s;
} Problem;

// ∫ exp(−zτ + jRτ²/2) dτ from 0 on: what a pole at distance Z leaves of a chirp
// of RATE (rad/s²). It is 1/z for a sweep that waits.
static double complex lagging(double complex z, double rate)
{
    enum { STEPS_MOST_ON_WAY = 6000 };
    double complex inverse = 1 / z;
    if (fabs(rate) < 0.01 * creal(z * conj(z))) { // three terms of the asymptotic series
        double complex small = I * rate * inverse * inverse;
        return inverse * (1 + small * (1 + 3 * small));
    }
    double step = 0.15 / cabs(z), end = 7 / creal(z);
    size_t steps = (size_t)fmin(STEPS_MOST_ON_WAY, 2 * ceil(0.5 * end / step));
    step = end / (double)steps;
    double complex value = 1, factor = cexp(-z * step + 0.5 * I * rate * step * step),
                   turn = cexp(I * rate * step * step);
    double complex sum = 1;
    for (size_t n = 1; n <= steps; n++) { // Simpson's rule
        value *= factor;
        factor *= turn;
        sum += value * (n == steps ? 1 : n % 2 ? 4 : 2);
    }
    return sum * step / 3;
}

// The output over the input, when that passes FREQUENCY at RATE (Hz/s):
// s²/(s² + as + b) = 1 − Σ (ap + b)/((p − p′)(s − p)) over its two poles.
static double complex swept(double frequency, double rate, double resonance, double q)
{
    double omega = 2 * M_PI * resonance, a = omega / q, b = omega * omega;
    double complex root = csqrt(a * a - 4 * b), p = 0.5 * (-a + root), other = 0.5 * (-a - root);
    double complex s = 2 * I * M_PI * frequency;
    rate *= 2 * M_PI;
    return 1 - ((a * p + b) * lagging(s - p, rate) - (a * other + b) * lagging(s - other, rate)) / root;
}

// What a Hann window shows of the output: its mean power, and its mean frequency weighted by that.
typedef struct {
    double power, frequency_hz;
} Shown;

// The window's middle is where the input passes INPUT. Midpoints are all but exact, for the window ends smoothly.
static Shown shown(double input, double rate, double resonance, double q, double window_s)
{
    enum { NODES = 9 };
    double length_s = window_s / HANN_SPREAD, step = 1e-3 * resonance, weights = 0, power = 0, moment = 0;
    for (int k = 0; k < NODES; k++) {
        double u = (k + 0.5) / NODES - 0.5, weight = pow(1 + cos(2 * M_PI * u), 2);
        double frequency = fmax(input + rate * u * length_s, step);
        double complex here = swept(frequency, rate, resonance, q);
        double turn = rate != 0 ? carg(swept(frequency + step, rate, resonance, q) / here) / step : 0;
        double here_power = weight * creal(here * conj(here));
        weights += weight;
        power += here_power;
        moment += here_power * (frequency + turn * rate / (2 * M_PI));
    }
    return (Shown){power / weights, moment / power};
}

double dw_resonance_fit_level_db(double resonance_hz, double q, const DwResonancePoint *point, double window_s)
{
    double input = point->frequency_hz;
    Shown now = shown(input, point->rate_hz_s, resonance_hz, q, window_s);
    for (int i = 0; i < 3 && point->rate_hz_s != 0; i++) {
        input += point->frequency_hz - now.frequency_hz;
        now = shown(input, point->rate_hz_s, resonance_hz, q, window_s);
    }
    return 10 * log10(now.power);
}

static int residuals(const gsl_vector *unknowns, void *user, gsl_vector *off)
{
    const Problem *problem = user;
    double resonance = exp(gsl_vector_get(unknowns, 0)), q = exp(gsl_vector_get(unknowns, 1));
    for (size_t i = 0; i < problem->count; i++) {
        double level = dw_resonance_fit_level_db(resonance, q, &problem->points[i], problem->window_s);
        if (!isfinite(level))
            return GSL_EDOM;
        gsl_vector_set(off, i, gsl_vector_get(unknowns, 2) + level - problem->points[i].level_db);
    }
    return GSL_SUCCESS;
}

// A place to start from: the best of a coarse grid, the gain being the mean difference.
static void start_from(const Problem *problem, double start[UNKNOWNS])
{
    double least = INFINITY;
    for (double resonance = 3; resonance < 30; resonance *= 1.07)
        for (double q = 0.7; q < 20; q *= 1.7) {
            double sum = 0, squares = 0, count = (double)problem->count;
            for (size_t i = 0; i < problem->count; i++) {
                double x = problem->points[i].frequency_hz / resonance; // as if the sweep waited
                double off = problem->points[i].level_db - 20 * log10(x * x / hypot(1 - x * x, x / q));
                sum += off;
                squares += off * off;
            }
            double rest = squares - sum * sum / count;
            if (rest < least) {
                least = rest;
                start[0] = log(resonance);
                start[1] = log(q);
                start[2] = sum / count;
            }
        }
}

// Takes the answer of WORKSPACE, whose points number COUNT and tell as much as
// COUNT/OVERLAP. Returned: false when it is none.
static bool take_answer(gsl_multifit_nlinear_workspace *workspace, size_t count, double overlap, DwResonanceFit *fit)
{
    double squares = 0;
    const gsl_vector *answer = gsl_multifit_nlinear_position(workspace),
                     *off = gsl_multifit_nlinear_residual(workspace);
    for (size_t i = 0; i < count; i++)
        squares += gsl_vector_get(off, i) * gsl_vector_get(off, i);
    gsl_matrix *covariance = gsl_matrix_alloc(answer->size, answer->size);
    gsl_multifit_nlinear_covar(gsl_multifit_nlinear_jac(workspace), 0, covariance);
    double scale = overlap * squares / (double)(count - answer->size);
    *fit = (DwResonanceFit){
        .resonance_hz = exp(gsl_vector_get(answer, 0)),
        .q = exp(gsl_vector_get(answer, 1)),
        .gain_db = gsl_vector_get(answer, 2),
        .rest_db = sqrt(squares / (double)count),
    };
    fit->resonance_off_hz = 1.96 * fit->resonance_hz * sqrt(scale * gsl_matrix_get(covariance, 0, 0));
    fit->q_off = 1.96 * fit->q * sqrt(scale * gsl_matrix_get(covariance, 1, 1));
    gsl_matrix_free(covariance);
    return isfinite(fit->resonance_hz + fit->q + fit->resonance_off_hz + fit->q_off) && fit->q < 100;
}

// Solves EQUATIONS from START on.
static bool solve(gsl_multifit_nlinear_fdf *equations, double *start, double overlap, DwResonanceFit *fit)
{
    gsl_multifit_nlinear_parameters parameters = gsl_multifit_nlinear_default_parameters();
    gsl_multifit_nlinear_workspace *workspace =
        gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &parameters, equations->n, equations->p);
    gsl_vector_view begin = gsl_vector_view_array(start, equations->p);
    int info;
    bool found = gsl_multifit_nlinear_init(&begin.vector, equations, workspace) == GSL_SUCCESS &&
                 gsl_multifit_nlinear_driver(STEPS_MOST, 1e-8, 1e-8, 0, NULL, NULL, &info, workspace) == GSL_SUCCESS &&
                 take_answer(workspace, equations->n, overlap, fit);
    gsl_multifit_nlinear_free(workspace);
    return found;
}

bool dw_resonance_fit(const DwResonancePoint *points, size_t count, double window_s, DwResonanceFit *fit)
{
    double lowest = INFINITY, highest = 0;
    for (size_t i = 0; i < count; i++) {
        lowest = fmin(lowest, points[i].frequency_hz);
        highest = fmax(highest, points[i].frequency_hz);
    }
    if (count < 8 || !(lowest > 0) || !(highest > lowest))
        return false;
    Problem problem = {points, count, window_s};
    double start[UNKNOWNS] = {0};
    start_from(&problem, start);
    gsl_multifit_nlinear_fdf equations = {.f = residuals, .n = count, .p = UNKNOWNS, .params = &problem};
    return solve(&equations, start, OVERLAP, fit);
}

typedef struct {
    const double *frequency_hz, *level_db;
    size_t count;
} Hump;

static double hump_db(double frequency, double resonance, double q)
{
    double x = frequency / resonance, damping = pow(x / q, 2);
    return 10 * log10((1 + damping) / (pow(1 - x * x, 2) + damping));
}

static int hump_residuals(const gsl_vector *unknowns, void *user, gsl_vector *off)
{
    const Hump *hump = user;
    double resonance = exp(gsl_vector_get(unknowns, 0)), q = exp(gsl_vector_get(unknowns, 1));
    for (size_t i = 0; i < hump->count; i++) {
        double hz = hump->frequency_hz[i];
        double level = gsl_vector_get(unknowns, 2) + gsl_vector_get(unknowns, 3) * log10(hz / 10) +
                       hump_db(hz, resonance, q) - hump->level_db[i];
        if (!isfinite(level))
            return GSL_EDOM;
        gsl_vector_set(off, i, level);
    }
    return GSL_SUCCESS;
}

// What is left of HUMP behind RESONANCE and Q by the best straight line over lg f.
static double straighten(const Hump *hump, double resonance, double q, double *gain, double *slope)
{
    double n = (double)hump->count, x = 0, y = 0, xx = 0, xy = 0, yy = 0;
    for (size_t i = 0; i < hump->count; i++) {
        double lg = log10(hump->frequency_hz[i] / 10);
        double level = hump->level_db[i] - (q > 0 ? hump_db(hump->frequency_hz[i], resonance, q) : 0);
        x += lg, y += level, xx += lg * lg, xy += lg * level, yy += level * level;
    }
    *slope = (n * xy - x * y) / (n * xx - x * x);
    *gain = (y - *slope * x) / n;
    return yy - *gain * y - *slope * xy;
}

bool dw_resonance_fit_hump(const double *frequency_hz, const double *level_db, size_t count, DwResonanceFit *fit)
{
    static const double LEAST_GAIN = 0.5; // of the squares that a hump must explain
    enum { HUMP_UNKNOWNS = 4 };
    if (count < 12)
        return false;
    Hump hump = {frequency_hz, level_db, count};
    double gain, slope, least = INFINITY, start[HUMP_UNKNOWNS] = {0};
    double straight = straighten(&hump, 10, 0, &gain, &slope);
    for (double resonance = frequency_hz[0]; resonance < frequency_hz[count - 1]; resonance *= 1.04)
        for (double q = 1; q < 20; q *= 1.5) {
            double rest = straighten(&hump, resonance, q, &gain, &slope);
            if (rest < least) {
                least = rest;
                start[0] = log(resonance);
                start[1] = log(q);
                start[2] = gain;
                start[3] = slope;
            }
        }
    gsl_multifit_nlinear_fdf equations = {.f = hump_residuals, .n = count, .p = HUMP_UNKNOWNS, .params = &hump};
    return solve(&equations, start, OVERLAP, fit) &&
           fit->rest_db * fit->rest_db * (double)count < (1 - LEAST_GAIN) * straight;
}
