// SPDX-License-Identifier: MIT
#include "measure/speed/slow_series.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

static const double ALIKE = 0.002, CLEAR = 0.5; // turns: what the two clocks turn a line by
static const double TIE = 1e-6;                 // of what is left: then both clocks account for a line

size_t dw_slow_series_clock(const DwSlowSeries *series, const DwLineFit *fit, double *rate_hz)
{
    DwLineSamples samples = dw_slow_series_samples(series);
    double *left = dw_memory_new(series->count, sizeof *left);
    dw_line_fit_rest(fit, &samples, left);
    double rate[2], power[2];
    for (size_t clock = 0; clock < 2; clock++) {
        rate[clock] = dw_slow_series_strongest(series, left, clock, *rate_hz, 1 / fit->span);
        power[clock] = dw_slow_series_power(series, left, clock, rate[clock]);
    }
    free(left);
    size_t chosen = power[1] >= power[0] * (1 - TIE);
    *rate_hz = rate[chosen];
    return chosen;
}

// Seconds of the groove to one of the recording's, over all of SERIES.
static double pace_of(const DwSlowSeries *series)
{
    size_t last = series->count - 1;
    return (series->clock[1][last] - series->clock[1][0]) / (series->clock[0][last] - series->clock[0][0]);
}

// Seconds by which the two clocks of SERIES come apart, but for that pace.
static double clocks_apart(const DwSlowSeries *series)
{
    const double *time = series->clock[0], *groove = series->clock[1];
    double pace = pace_of(series), most = 0;
    for (size_t n = 0; n < series->count; n++)
        most = fmax(most, fabs(groove[n] - groove[0] - pace * (time[n] - time[0])));
    return most;
}

void dw_slow_series_choose_clocks(const DwSlowSeries *series, DwLineFit *fit)
{
    DwLineSamples samples = dw_slow_series_samples(series);
    double apart = clocks_apart(series), pace = pace_of(series);
    for (size_t l = 1; l < fit->count; l++) {
        double turned = fit->line[l].rate_hz * apart;
        if (turned < ALIKE || turned > CLEAR)
            continue;
        DwLineFit other = *fit;
        DwLine *line = &other.line[l];
        line->clock = 1 - line->clock;
        line->rate_hz *= line->clock ? 1 / pace : pace;
        double better = line->clock ? 1 + TIE : 1 - TIE;
        if (dw_line_fit_run(&other, &samples, 4) && other.variance < fit->variance * better)
            *fit = other;
    }
}
