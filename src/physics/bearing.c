// SPDX-License-Identifier: MIT
#include "physics/bearing.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_multifit_nlinear.h>

double dw_bearing_petroff(const DwSleeve *sleeve, double viscosity)
{
    double radius = sleeve->radius_mm / 1000;
    return 2 * M_PI * viscosity * pow(radius, 3) * sleeve->length_mm / sleeve->clearance_mm;
}

double dw_bearing_ring_inertia(double mass_kg, double outer_mm, double inner_mm)
{
    double outer = outer_mm / 2000, inner = inner_mm / 2000;
    return mass_kg * (outer * outer + inner * inner) / 2;
}

// (1 − e^(−kt))/k, which is t where k is nought.
static double slowing(double k, double seconds)
{
    return fabs(k * seconds) < 1e-9 ? seconds : -expm1(-k * seconds) / k;
}

double dw_bearing_air(double diameter_mm)
{
    static const double density = 1.20, viscosity = 15.1e-6;
    return 0.616 * M_PI * density * pow(diameter_mm / 2000, 4) * sqrt(viscosity);
}

static double braking(const DwCoast *coast, double speed)
{
    double turning = fmax(0, speed);
    return coast->viscous * speed + coast->coulomb + coast->air * turning * sqrt(turning);
}

// The speed SECONDS after SPEED: by the closed form without air, else by Runge and Kutta's fourth order.
static double slowed(const DwCoast *coast, double speed, double seconds)
{
    static const double step_most = 1; // second: drags change over tens of them
    if (coast->air <= 0)
        return speed * exp(-coast->viscous * seconds) - coast->coulomb * slowing(coast->viscous, seconds);
    size_t steps = (size_t)ceil(fmax(1, seconds / step_most));
    double h = seconds / (double)steps;
    for (size_t i = 0; i < steps; i++) {
        double k1 = braking(coast, speed), k2 = braking(coast, speed - h / 2 * k1);
        double k3 = braking(coast, speed - h / 2 * k2), k4 = braking(coast, speed - h * k3);
        speed -= h / 6 * (k1 + 2 * k2 + 2 * k3 + k4);
    }
    return speed;
}

double dw_bearing_coast_speed(const DwCoast *coast, double seconds)
{
    return fmax(0, slowed(coast, coast->start, seconds));
}

// ∫ dω/(bω + T + Aω^1.5) by Simpson's rule over the root of the speed.
static double coast_time_in_air(const DwCoast *coast, double from, double to)
{
    enum { PARTS = 2000 };
    double low = sqrt(to), width = (sqrt(from) - low) / PARTS, sum = 0;
    if (to <= 0 && coast->coulomb <= 0)
        return INFINITY;
    for (int i = 0; i <= PARTS; i++) {
        double root = low + i * width, weight = i == 0 || i == PARTS ? 1 : i % 2 ? 4 : 2;
        sum += weight * 2 * root / braking(coast, root * root);
    }
    return sum * width / 3;
}

double dw_bearing_coast_time(const DwCoast *coast, double from, double to)
{
    double k = coast->viscous, c = coast->coulomb;
    assert(from >= to && to >= 0);
    if (coast->air > 0)
        return coast_time_in_air(coast, from, to);
    if (k * from < 1e-9 * c)
        return (from - to) / c;
    if (c <= 0)
        return log(from / to) / k;
    return log((k * from + c) / (k * to + c)) / k;
}

double dw_bearing_half_ratio(const DwCoast *coast)
{
    return dw_bearing_coast_time(coast, coast->start / 2, coast->start / 4) /
           dw_bearing_coast_time(coast, coast->start, coast->start / 2);
}

// What the fit works on. The drags not free are held at nought.
typedef struct {
    const double *seconds, *speeds;
    size_t count;
    double span; // first to last time: drags are fitted per span, to be of size one
    double air;  // A/J
    bool has_viscous, has_coulomb;
} Run;

// Unpacks the free parameters: start, then the free drags.
static void unpack(const Run *run, const gsl_vector *free_values, double *start, double *viscous, double *coulomb)
{
    size_t next = 0;
    *start = gsl_vector_get(free_values, next++);
    *viscous = run->has_viscous ? gsl_vector_get(free_values, next++) / run->span : 0;
    *coulomb = run->has_coulomb ? gsl_vector_get(free_values, next++) / run->span : 0;
}

static int misfits(const gsl_vector *free_values, void *context, gsl_vector *out)
{
    const Run *run = context;
    DwCoast coast = {.air = run->air};
    unpack(run, free_values, &coast.start, &coast.viscous, &coast.coulomb);
    double speed = coast.start;
    for (size_t i = 0; i < run->count; i++) {
        if (run->air <= 0) // from the start each time, as the closed form has it
            speed = slowed(&coast, coast.start, run->seconds[i] - run->seconds[0]);
        else if (i > 0)
            speed = slowed(&coast, speed, run->seconds[i] - run->seconds[i - 1]);
        gsl_vector_set(out, i, speed - run->speeds[i]);
    }
    return GSL_SUCCESS;
}

// The scatter about the fit and the uncertainties that follow from it.
static void set_errors(const Run *run, size_t free_count, gsl_multifit_nlinear_workspace *work, DwCoast *coast)
{
    const gsl_vector *left = gsl_multifit_nlinear_residual(work);
    double squares = 0;
    for (size_t i = 0; i < run->count; i++)
        squares += gsl_vector_get(left, i) * gsl_vector_get(left, i);
    gsl_matrix *covariance = gsl_matrix_alloc(free_count, free_count);
    gsl_multifit_nlinear_covar(gsl_multifit_nlinear_jac(work), 0, covariance);
    double variance = run->count > free_count ? squares / (double)(run->count - free_count) : NAN;
    coast->coverage = run->count > free_count ? gsl_cdf_tdist_Pinv(0.975, (double)(run->count - free_count)) : NAN;
    double errors[3] = {NAN, NAN, NAN};
    for (size_t i = 0; i < free_count; i++)
        errors[i] = sqrt(variance * gsl_matrix_get(covariance, i, i));
    size_t next = 1;
    coast->residual = sqrt(squares / (double)run->count);
    coast->start_error = errors[0];
    coast->viscous_error = run->has_viscous ? errors[next++] / run->span : NAN;
    coast->coulomb_error = run->has_coulomb ? errors[next++] / run->span : NAN;
    gsl_matrix_free(covariance);
}

// Runs the fit with the drags that RUN leaves free. False: it did not converge.
static bool fit_free(Run *run, DwCoast *coast)
{
    size_t count = 1 + run->has_viscous + run->has_coulomb;
    gsl_multifit_nlinear_parameters settings = gsl_multifit_nlinear_default_parameters();
    gsl_multifit_nlinear_workspace *work =
        gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &settings, run->count, count);
    gsl_multifit_nlinear_fdf problem = {.f = misfits, .n = run->count, .p = count, .params = run};
    double first = run->speeds[0], lost = (first - run->speeds[run->count - 1]) / 2;
    double guess[3] = {first};
    size_t next = 1;
    if (run->has_viscous)
        guess[next++] = lost / first;
    if (run->has_coulomb)
        guess[next++] = lost;
    gsl_vector_view begin = gsl_vector_view_array(guess, count);
    gsl_multifit_nlinear_init(&begin.vector, &problem, work);
    int info = 0;
    bool good = gsl_multifit_nlinear_driver(200, 1e-10, 1e-12, 0, NULL, NULL, &info, work) == GSL_SUCCESS;
    unpack(run, gsl_multifit_nlinear_position(work), &coast->start, &coast->viscous, &coast->coulomb);

    set_errors(run, count, work, coast);
    gsl_multifit_nlinear_free(work);
    return good;
}

// Of the first speed: a slip of the pen, and no scatter of a watch or of wow.
static const double rises_by = 0.03, rpm = 2 * M_PI / 60;

static DwStatus check_run(const double *seconds, const double *speeds, size_t count, DwMessage *message)
{
    if (count < 3)
        return dw_fail(message, DW_BAD_INPUT,
                       "A run-down needs at least three speeds, better eight. Note the time at "
                       "every 3 rpm or so.");
    for (size_t i = 1; i < count; i++)
        if (seconds[i] <= seconds[i - 1])
            return dw_fail(message, DW_BAD_INPUT, "The times of a run-down must ascend: %g s follows %g s.", seconds[i],
                           seconds[i - 1]);
    if (!(speeds[count - 1] < speeds[0]) || speeds[count - 1] < 0)
        return dw_fail(message, DW_BAD_INPUT,
                       "The platter does not slow down in these speeds. Take them with the belt "
                       "off and the motor out of gear.");
    for (size_t i = 1; i < count; i++)
        if (speeds[i] - speeds[i - 1] > rises_by * speeds[0])
            return dw_fail(message, DW_BAD_INPUT,
                           "The speed rises from %.2f to %.2f rpm at %g s: a run-down only falls. Check that point, or "
                           "leave it out.",
                           speeds[i - 1] / rpm, speeds[i] / rpm, seconds[i]);
    return DW_OK;
}

// With drags below nought held at nought and the rest fitted again.
static bool fit_with(const double *seconds, const double *speeds, size_t count, double air, DwCoast *coast)
{
    Run run = {seconds, speeds, count, seconds[count - 1] - seconds[0], air, true, true};
    bool good = fit_free(&run, coast);
    if (good && (coast->coulomb < 0 || coast->viscous < 0)) {
        run.has_viscous = coast->viscous >= 0;
        run.has_coulomb = coast->coulomb >= 0;
        good = fit_free(&run, coast);
    }
    coast->air = air;
    return good;
}

DwStatus dw_bearing_fit(const double *seconds, const double *speeds, size_t count, double air, double air_off,
                        DwCoast *coast, DwMessage *message)
{
    DwStatus status = check_run(seconds, speeds, count, message);
    if (status != DW_OK)
        return status;
    DwCoast fitted, moved;
    if (!fit_with(seconds, speeds, count, air, &fitted))
        return dw_fail(message, DW_BAD_INPUT, "No run-down fits these times and speeds. Check them for a slip.");
    if (air_off > 0 && fit_with(seconds, speeds, count, air + air_off, &moved)) {
        // The scatter's doubt stands behind Student's factor, the air's does not.
        double share = 1.96 / fitted.coverage;
        fitted.viscous_error = hypot(fitted.viscous_error, share * (moved.viscous - fitted.viscous));
        fitted.coulomb_error = hypot(fitted.coulomb_error, share * (moved.coulomb - fitted.coulomb));
    }
    *coast = fitted;
    return DW_OK;
}

double dw_bearing_sink_seconds(const DwSleeve *sleeve, double viscosity, double weight_n, double from_mm, double to_mm)
{
    double ratio = sleeve->radius_mm / sleeve->clearance_mm;
    double squares = (to_mm * to_mm - from_mm * from_mm) / 1e6;
    return 3 * M_PI * viscosity * pow(ratio, 3) * squares / weight_n;
}

double dw_bearing_sink_clearance_mm(double radius_mm, double viscosity, double weight_n, double from_mm, double to_mm,
                                    double seconds)
{
    double squares = (to_mm * to_mm - from_mm * from_mm) / 1e6;
    return radius_mm * cbrt(3 * M_PI * viscosity * squares / (weight_n * seconds));
}

double dw_bearing_rock_clearance_mm(double rock_mm, double radius_mm, double span_mm)
{
    // It leans by 2 c/span to either side.
    return rock_mm >= 0 && radius_mm > 0 && span_mm > 0 ? rock_mm * span_mm / (4 * radius_mm) : NAN;
}
