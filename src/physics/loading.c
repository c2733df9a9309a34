// SPDX-License-Identifier: MIT
#include "physics/loading.h"

#include <assert.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_min.h>
#include <math.h>

DwLoadingShape dw_loading_shape(const DwLoading *loading)
{
    double l = loading->inductance_h, r = loading->resistance_ohm;
    double load = loading->load_resistance_ohm, c = loading->load_capacitance_f;
    assert(l > 0 && r >= 0 && load > 0 && c > 0);
    double omega = sqrt((1 + r / load) / (l * c));
    return (DwLoadingShape){
        .natural_hz = omega / (2 * M_PI),
        .q = omega / (r / l + 1 / (load * c)),
        .divider_db = -20 * log10(1 + r / load),
    };
}

// The level of a second-order low-pass at X = f/f₀.
static double low_pass_db(double x, double q)
{
    return -20 * log10(hypot(1 - x * x, x / q));
}

double dw_loading_response_db(const DwLoading *loading, double frequency_hz)
{
    DwLoadingShape shape = dw_loading_shape(loading);
    return low_pass_db(frequency_hz / shape.natural_hz, shape.q);
}

bool dw_loading_peak(const DwLoading *loading, double *peak_db, double *peak_hz)
{
    DwLoadingShape shape = dw_loading_shape(loading);
    double place = 1 - 1 / (2 * shape.q * shape.q);
    if (place <= 0)
        return false;
    *peak_db = 20 * log10(shape.q / sqrt(1 - 1 / (4 * shape.q * shape.q)));
    *peak_hz = shape.natural_hz * sqrt(place);
    return true;
}

double dw_loading_corner_hz(const DwLoading *loading)
{
    // (1 − x²)² + (x/Q)² = 2 is a quadratic in x².
    DwLoadingShape shape = dw_loading_shape(loading);
    double half = 1 - 1 / (2 * shape.q * shape.q);
    return shape.natural_hz * sqrt(half + sqrt(half * half + 1));
}

double dw_loading_flat_capacitance_f(const DwLoading *loading)
{
    double load = loading->load_resistance_ohm;
    double ratio = loading->resistance_ohm / load;
    if (ratio >= 1)
        return NAN;
    return loading->inductance_h / (load * load * (1 + sqrt(1 - ratio * ratio)));
}

double dw_loading_flat_resistance_ohm(const DwLoading *loading)
{
    // With R_L = R cosh u the condition is R²(e²ᵘ + 1)/2 = L/C.
    double r = loading->resistance_ohm;
    double squared = 2 * loading->inductance_h / loading->load_capacitance_f - r * r;
    if (squared <= r * r)
        return NAN;
    double w = sqrt(squared);
    return (w + r * r / w) / 2;
}

double dw_loading_tip_db(const DwLoadingTip *tip, double frequency_hz)
{
    return tip->frequency_hz > 0 ? low_pass_db(frequency_hz / tip->frequency_hz, tip->q) : 0;
}

double dw_loading_departure_db(const DwLoading *loading, const DwLoadingTip *tip, double top_hz)
{
    DwLoadingShape shape = dw_loading_shape(loading);
    double worst = 0;
    enum { STEPS = 600 };
    for (int i = 0; i <= STEPS; i++) {
        double frequency = 20 * pow(top_hz / 20, (double)i / STEPS);
        double level = low_pass_db(frequency / shape.natural_hz, shape.q) + dw_loading_tip_db(tip, frequency);
        worst = fmax(worst, fabs(level));
    }
    return worst;
}

typedef struct {
    DwLoading loading;
    const DwLoadingTip *tip;
    double top_hz;
} Departure;

static double departure_at(double capacitance_f, void *argument)
{
    Departure *departure = argument;
    departure->loading.load_capacitance_f = capacitance_f;
    return dw_loading_departure_db(&departure->loading, departure->tip, departure->top_hz);
}

// Narrows [LOW, HIGH] about MIDDLE, which is lower than both ends.
static double refine(gsl_function *function, double low, double middle, double high)
{
    gsl_min_fminimizer *search = gsl_min_fminimizer_alloc(gsl_min_fminimizer_goldensection);
    if (gsl_min_fminimizer_set(search, function, middle, low, high) == GSL_SUCCESS) {
        for (int i = 0; i < 100 && high - low > 1e-14; i++) {
            gsl_min_fminimizer_iterate(search);
            low = gsl_min_fminimizer_x_lower(search);
            high = gsl_min_fminimizer_x_upper(search);
        }
        middle = gsl_min_fminimizer_x_minimum(search);
    }
    gsl_min_fminimizer_free(search);
    return middle;
}

double dw_loading_least_departure_f(const DwLoading *loading, const DwLoadingTip *tip, double top_hz, double low_f,
                                    double high_f)
{
    Departure departure = {*loading, tip, top_hz};
    gsl_function function = {departure_at, &departure};
    enum { STEPS = 400 };
    double step = pow(high_f / low_f, 1.0 / STEPS);
    double best = low_f, least = departure_at(low_f, &departure);
    for (int i = 1; i <= STEPS; i++) {
        double capacitance = low_f * pow(step, i);
        double worst = departure_at(capacitance, &departure);
        if (worst < least) {
            least = worst;
            best = capacitance;
        }
    }
    if (best <= low_f || best >= high_f / sqrt(step))
        return best;
    return refine(&function, best / step, best, best * step);
}

DwLoading dw_loading_through_transformer(DwLoading loading, double ratio, double wire_f)
{
    assert(ratio > 0);
    loading.load_resistance_ohm /= ratio * ratio;
    loading.load_capacitance_f = loading.load_capacitance_f * ratio * ratio + wire_f;
    return loading;
}

double dw_loading_step_up_ratio(double output_v, double wanted_v, double coil_ohm, double input_ohm)
{
    double gain = wanted_v / output_v;
    double squared = input_ohm * input_ohm - 4 * gain * gain * coil_ohm * input_ohm;
    // The root in the form that stays exact for a small coil resistance.
    return squared >= 0 ? 2 * gain * input_ohm / (input_ohm + sqrt(squared)) : NAN;
}
