// SPDX-License-Identifier: MIT
#include "dsp/sections.h"

#include <assert.h>
#include <complex.h>
#include <math.h>

void dw_sections_append(DwSections *sections, const double n[3], const double d[3], double rate_hz)
{
    assert(sections->count < DW_SECTIONS_MOST);
    double k = 2 * rate_hz; // s = k (1 − z⁻¹)/(1 + z⁻¹)
    double a0 = d[0] + d[1] * k + d[2] * k * k;
    sections->section[sections->count++] = (DwSection){
        .b0 = (n[0] + n[1] * k + n[2] * k * k) / a0,
        .b1 = (2 * n[0] - 2 * n[2] * k * k) / a0,
        .b2 = (n[0] - n[1] * k + n[2] * k * k) / a0,
        .a1 = (2 * d[0] - 2 * d[2] * k * k) / a0,
        .a2 = (d[0] - d[1] * k + d[2] * k * k) / a0,
    };
}

static DwSections butterworth(unsigned order, double corner_hz, double rate_hz, int high)
{
    assert(order % 2 == 0 && order / 2 <= DW_SECTIONS_MOST);
    DwSections sections = {.count = 0};
    double w = 2 * rate_hz * tan(M_PI * corner_hz / rate_hz); // prewarped
    for (unsigned i = 0; i < order / 2; i++) {
        double damping = 2 * sin(M_PI * (2 * i + 1) / (2.0 * order));
        const double low[3] = {w * w, 0, 0}, top[3] = {0, 0, 1};
        const double denominator[3] = {w * w, damping * w, 1};
        dw_sections_append(&sections, high ? top : low, denominator, rate_hz);
    }
    return sections;
}

DwSections dw_sections_lowpass(unsigned order, double corner_hz, double rate_hz)
{
    return butterworth(order, corner_hz, rate_hz, 0);
}

DwSections dw_sections_highpass(unsigned order, double corner_hz, double rate_hz)
{
    return butterworth(order, corner_hz, rate_hz, 1);
}

double dw_sections_gain(const DwSections *sections, double frequency_hz, double rate_hz)
{
    double complex z = cexp(-I * 2 * M_PI * frequency_hz / rate_hz), gain = 1;
    for (size_t i = 0; i < sections->count; i++) {
        const DwSection *s = &sections->section[i];
        gain *= (s->b0 + s->b1 * z + s->b2 * z * z) / (1 + s->a1 * z + s->a2 * z * z);
    }
    return cabs(gain);
}

static double step(DwSection *s, double x)
{
    double y = s->b0 * x + s->s1;
    s->s1 = s->b1 * x - s->a1 * y + s->s2;
    s->s2 = s->b2 * x - s->a2 * y;
    return y;
}

void dw_sections_run(DwSections *sections, double *samples, size_t count)
{
    size_t i = 0;
    for (; i + 1 < sections->count; i += 2) { // two in one pass: the one waits for its own past while the other works
        DwSection first = sections->section[i], second = sections->section[i + 1];
        for (size_t n = 0; n < count; n++)
            samples[n] = step(&second, step(&first, samples[n]));
        sections->section[i] = first;
        sections->section[i + 1] = second;
    }
    for (; i < sections->count; i++) {
        DwSection s = sections->section[i];
        for (size_t n = 0; n < count; n++)
            samples[n] = step(&s, samples[n]);
        sections->section[i] = s;
    }
}

void dw_sections_reset(DwSections *sections)
{
    for (size_t i = 0; i < sections->count; i++)
        sections->section[i].s1 = sections->section[i].s2 = 0;
}
