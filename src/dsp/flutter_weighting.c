// SPDX-License-Identifier: MIT
#include "dsp/flutter_weighting.h"

#include <complex.h>
#include <math.h>

// A pole-zero law fitted to IEC 60386 Table I, corners in Hz; worst error 0.28 dB.
static const double f0 = 0.4435, q = 0.6494, f1 = 1.4979, f2 = 8.5197, fz = 31.3161, f3 = 43.5026, k = 1.17785;

double dw_flutter_weighting_gain(double frequency_hz)
{
    double complex s = I * frequency_hz;
    double complex low = s * s / (s * s + s * f0 / q + f0 * f0) * s / (s + f1);
    return cabs(k * low * (1 + s / fz) / ((1 + s / f2) * (1 + s / f3)));
}

DwSections dw_flutter_weighting_sections(double rate_hz)
{
    DwSections sections = {.count = 0};
    double w0 = 2 * M_PI * f0, w1 = 2 * M_PI * f1, w2 = 2 * M_PI * f2, wz = 2 * M_PI * fz, w3 = 2 * M_PI * f3;
    dw_sections_append(&sections, (const double[3]){0, 0, 1}, (const double[3]){w0 * w0, w0 / q, 1}, rate_hz);
    dw_sections_append(&sections, (const double[3]){0, 1, 1 / wz}, (const double[3]){w1, 1 + w1 / w2, 1 / w2}, rate_hz);
    dw_sections_append(&sections, (const double[3]){k, 0, 0}, (const double[3]){1, 1 / w3, 0}, rate_hz);
    return sections;
}

double dw_flutter_weighting_mend(const DwSections *sections, double frequency_hz, double rate_hz)
{
    double top = fmin(frequency_hz, 230); // held beyond the band, where a low-pass takes over
    if (top < 5)
        return 1;
    return dw_flutter_weighting_gain(top) / dw_sections_gain(sections, top, rate_hz);
}
