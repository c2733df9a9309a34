// SPDX-License-Identifier: MIT
#include "measure/speed/speed_unseen.h"

#include "measure/speed/speed_neighbour.h"

#include <math.h>

enum { PASSES = 8, RATES_MOST = 16 };

// A belt is longer than the rim that it drives is round: with the pulley just beside a rim of 300 mm by 0.9 %.
static const double NEAREST = 0.008;
static const double WIDER = 1.5;        // from one rate tried to the next
static const double SHOWS = 0.9;        // over the span: from there on a line is found by its peak
static const double LIKELY = 7.8;       // of chi-square over three degrees of freedom: one in twenty is farther
static const double HALF_WIDTH = 2;     // over a standard uncertainty
static const double KNOWN = 0.1;        // of the amplitude
static const double LONGER = 2.0 / 3.0; // a line beside another is known by the length to the power of 3/2

// One fit with a second line.
typedef struct {
    double amplitude[2], off[2]; // half-widths
    double phase, phase_off;
    double rate_hz, rate_off_hz;
    double squares; // what it leaves
} Tried;

// FIT and beside its platter's line another one, whose rate is held at OTHER_HZ.
static bool try_other(const DwLineSamples *samples, const DwLineFit *fit, double other_hz, const double variance[2],
                      double reading, Tried *tried)
{
    DwLineFit two = *fit;
    const DwLine *platter = &two.line[0];
    two.line[two.count++] = (DwLine){.clock = 1,
                                     .harmonics = platter->harmonics,
                                     .rate_hz = other_hz,
                                     .prior_hz = other_hz,
                                     .prior_off_hz = 1e-6 / fit->span};
    if (!dw_line_fit_run(&two, samples, PASSES))
        return false;
    for (size_t k = 0; k < 2; k++) {
        tried->amplitude[k] = dw_line_amplitude(platter, k);
        tried->off[k] = HALF_WIDTH * dw_line_amplitude_off(platter, k, variance[k]);
    }
    tried->phase = dw_line_phase(&two, platter, reading);
    tried->phase_off = HALF_WIDTH * dw_line_phase_off(&two, platter, reading, variance[0]);
    tried->rate_hz = platter->rate_hz;
    tried->rate_off_hz = HALF_WIDTH * dw_line_rate_off(platter, variance[0]);
    tried->squares = two.variance * (double)samples->count;
    return true;
}

static double turned(double from, double to)
{
    return fabs(remainder(to - from, 2 * M_PI));
}

// Widens UNSEEN, by the line PLATTER alone, to what TRIED leaves possible.
static void join(const DwLine *platter, double phase, const Tried *tried, DwUnseen *unseen)
{
    for (size_t k = 0; k < 2; k++) {
        double apart = fabs(tried->amplitude[k] - dw_line_amplitude(platter, k));
        unseen->amplitude_off[k] = fmax(unseen->amplitude_off[k], apart + tried->off[k]);
    }
    double phase_off = turned(phase, tried->phase) + tried->phase_off;
    unseen->phase_off = fmin(M_PI, fmax(unseen->phase_off, phase_off));
    double rate_off_hz = fabs(tried->rate_hz - platter->rate_hz) + tried->rate_off_hz;
    unseen->rate_off_hz = fmax(unseen->rate_off_hz, rate_off_hz);
}

DwUnseen dw_unseen_beside(const DwSlowSeries *series, const DwLineFit *fit, const double variance[2], double reading)
{
    DwLineSamples samples = dw_slow_series_samples(series);
    const DwLine *platter = &fit->line[0];
    Tried tried[2 * RATES_MOST];
    size_t count = 0;
    double least = fit->variance * (double)series->count, turns = platter->rate_hz * fit->span;
    DwUnseen unseen = {{0}, 0, 0};
    if (fit->count == DW_LINE_FIT_LINES || dw_neighbour_stands(fit))
        return unseen;
    double off = NEAREST;
    for (size_t i = 0; i < RATES_MOST && off * turns < SHOWS; i++, off *= WIDER)
        for (int side = -1; side <= 1; side += 2)
            if (try_other(&samples, fit, platter->rate_hz * (1 + side * off), variance, reading, &tried[count]))
                least = fmin(least, tried[count++].squares);
    double phase = dw_line_phase(fit, platter, reading);
    for (size_t i = 0; i < count; i++)
        if (tried[i].squares - least <= LIKELY * variance[0])
            join(platter, phase, &tried[i], &unseen);
    return unseen;
}

double dw_unseen_wanted_s(const DwLine *platter, double span_s, double amplitude_off)
{
    double known = fmax(1e-9, KNOWN * dw_line_amplitude(platter, 0));
    return span_s * pow(fmax(1, amplitude_off / known), LONGER);
}
