// SPDX-License-Identifier: MIT
// The slow part of a speed deviation, up to 8 Hz, at some 40 values a second: what the
// joint fit of trend and lines works on.
#ifndef DW_MEASURE_SLOW_SERIES_H
#define DW_MEASURE_SLOW_SERIES_H

#include "dsp/line_fit.h"
#include "measure/speed/speed_analysis.h"

// Clock 0 is the recording's time; clock 1 counts the groove that passed, in the same
// seconds on the mean: what turns with the platter keeps step with it, however the
// platter's speed wanders.
typedef struct {
    double *clock[2], *value, *weight; // value in % of the run's centre frequency
    size_t count;
    double rate_hz;
    double plain_percent; // the mean that clock 1 counts by, over the run's centre
    DwFft *fft;           // of the even number of values
} DwSlowSeries;

extern const double dw_slow_series_highest_hz;

// From the masked deviation (Hz off CENTRE_HZ) of ANALYSIS.
DwSlowSeries dw_slow_series_of(const DwSpeedAnalysis *analysis, double centre_hz);
void dw_slow_series_clear(DwSlowSeries *series);
DwLineSamples dw_slow_series_samples(const DwSlowSeries *series);

// What a line of RATE_HZ by CLOCK shows in LEFT[series->count] under a Hann window, in power.
double dw_slow_series_power(const DwSlowSeries *series, const double *left, size_t clock, double rate_hz);
// The rate within REACH_HZ of RATE_HZ, in quarters over the span, at which it shows the most.
double dw_slow_series_strongest(const DwSlowSeries *series, const double *left, size_t clock, double rate_hz,
                                double reach_hz);

// The clock that a line near *RATE_HZ, not in FIT yet, keeps step with; the groove's where both do. *RATE_HZ is set to
// where it shows the most. (slow_clock.c)
size_t dw_slow_series_clock(const DwSlowSeries *series, const DwLineFit *fit, double *rate_hz);
// Asks again for each line of FIT but the platter's, with the lines beside it there: one that was chosen while they
// were not may be the other clock's, and then bends what lies beside it.
void dw_slow_series_choose_clocks(const DwSlowSeries *series, DwLineFit *fit);

// The power density of what a fit left of SERIES, one-sided, %²/Hz by frequency.
typedef struct {
    double *power; // Hann, amplitude squared of a sine on the bin
    size_t bins;
    double step_hz, span_s;
} DwSlowRest;

// The spectrum of what FIT leaves of SERIES. dw_slow_rest_clear() frees what it holds.
DwSlowRest dw_slow_rest_of(const DwSlowSeries *series, const DwLineFit *fit);
void dw_slow_rest_clear(DwSlowRest *rest);
// The mean density about FREQUENCY_HZ, bins at the lines of FIT left out, which took what was there.
double dw_slow_rest_density(const DwSlowRest *rest, const DwLineFit *fit, double frequency_hz);

#endif
