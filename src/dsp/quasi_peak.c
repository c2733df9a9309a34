// SPDX-License-Identifier: MIT
#include "dsp/quasi_peak.h"

#include <math.h>

static double share(double seconds, double rate_hz)
{
    return 1 - exp(-1 / (seconds * rate_hz));
}

static double step(DwQuasiPeak *meter, double x)
{
    meter->positive *= meter->hold;
    meter->negative *= meter->hold;
    if (x > meter->positive)
        meter->positive += (x - meter->positive) * meter->attack;
    if (-x > meter->negative)
        meter->negative += (-x - meter->negative) * meter->attack;
    double half_sum = 0.5 * (meter->positive + meter->negative);
    meter->pointer += (half_sum - meter->pointer) * meter->smoothing;
    return meter->pointer * meter->scale;
}

DwQuasiPeak dw_quasi_peak_start(double rate_hz)
{
    DwQuasiPeak meter = {
        .attack = share(0.025, rate_hz),
        .hold = 1 - share(0.55, rate_hz),
        .smoothing = share(0.160, rate_hz),
        .scale = 1,
    };
    // What the circuit makes of a settled 4 Hz sine of peak 1 is read once and divided out.
    DwQuasiPeak trial = meter;
    size_t settle = (size_t)(6 * rate_hz), span = (size_t)rate_hz;
    double sum = 0;
    for (size_t n = 0; n < settle + span; n++) {
        double deflection = step(&trial, sin(2 * M_PI * 4 * (double)n / rate_hz));
        if (n >= settle)
            sum += deflection;
    }
    meter.scale = (double)span / sum;
    return meter;
}

void dw_quasi_peak_run(DwQuasiPeak *meter, const double *input, double *pointer, size_t count)
{
    for (size_t n = 0; n < count; n++)
        pointer[n] = step(meter, input[n]);
}
