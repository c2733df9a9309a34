// SPDX-License-Identifier: MIT
// The joint fit of lines against lines whose truth is known.
#include "dsp/line_fit.h"
#include "support/suite.h"

#include <math.h>

enum { COUNT = 1200 };

static double times[COUNT], values[COUNT], ones[COUNT];

// 30 s at 40 values a second: a drift, a line of 0.1 at 0.5556 Hz and one of 0.06 at 0.4833 Hz,
// 0.07 Hz apart where the window of a spectrum is 0.13 Hz wide; NOISE is the standard deviation of white noise.
static DwLineSamples two_lines(double noise, unsigned seed)
{
    unsigned state = seed;
    for (size_t n = 0; n < COUNT; n++) {
        double sum = 0;
        for (int i = 0; i < 12; i++) { // twelve even numbers make a nearly normal one
            state = state * 1664525u + 1013904223u;
            sum += (double)(state >> 8) / (double)(1u << 24);
        }
        double t = times[n] = (double)n / 40;
        ones[n] = 1;
        values[n] = 0.3 + 0.002 * (t - 15) + 0.1 * cos(2 * M_PI * 0.5556 * t + 0.7) +
                    0.06 * cos(2 * M_PI * 0.4833 * t - 1.9) + noise * (sum - 6);
    }
    return (DwLineSamples){{times, times}, values, ones, COUNT};
}

static DwLineFit fitted(const DwLineSamples *samples)
{
    DwLineFit fit;
    dw_line_fit_init(&fit, samples);
    fit.line[0] = (DwLine){.harmonics = 1, .rate_hz = 0.56, .prior_hz = NAN, .prior_off_hz = NAN};
    fit.line[1] = (DwLine){.harmonics = 1, .rate_hz = 0.475, .prior_hz = NAN, .prior_off_hz = NAN};
    fit.count = 2;
    ck_assert(dw_line_fit_run(&fit, samples, 12));
    return fit;
}

START_TEST(lines_nearer_than_a_window_are_parted)
{
    DwLineSamples samples = two_lines(0, 1);
    DwLineFit fit = fitted(&samples);
    ck_assert_double_eq_tol(fit.line[0].rate_hz, 0.5556, 1e-6);
    ck_assert_double_eq_tol(fit.line[1].rate_hz, 0.4833, 1e-6);
    ck_assert_double_eq_tol(dw_line_amplitude(&fit.line[0], 0), 0.1, 1e-6);
    ck_assert_double_eq_tol(dw_line_amplitude(&fit.line[1], 0), 0.06, 1e-6);
    ck_assert_double_eq_tol(remainder(dw_line_phase(&fit, &fit.line[0], 0) - 0.7, 2 * M_PI), 0, 1e-4);
    ck_assert_double_eq_tol(fit.trend[1] * 2 / fit.span, 0.002, 1e-7);
}
END_TEST

START_TEST(uncertainties_hold_as_often_as_they_claim)
{
    enum { TRIALS = 200 };
    static const double noise = 0.05;
    unsigned rate = 0, amplitude = 0, phase = 0;
    for (unsigned i = 0; i < TRIALS; i++) {
        DwLineSamples samples = two_lines(noise, 77 + 991 * i);
        DwLineFit fit = fitted(&samples);
        const DwLine *line = &fit.line[0];
        double variance = noise * noise, off = remainder(dw_line_phase(&fit, line, 0) - 0.7, 2 * M_PI);
        rate += fabs(line->rate_hz - 0.5556) < 1.96 * dw_line_rate_off(line, variance);
        amplitude += fabs(dw_line_amplitude(line, 0) - 0.1) < 1.96 * dw_line_amplitude_off(line, 0, variance);
        phase += fabs(off) < 1.96 * dw_line_phase_off(&fit, line, 0, variance);
    }
    // 190 of 200, give or take 2.6 standard deviations of chance.
    const unsigned held[] = {rate, amplitude, phase};
    for (size_t i = 0; i < 3; i++)
        ck_assert_msg(held[i] >= 182 && held[i] <= 198, "%zu: %u of %d", i, held[i], TRIALS);
}
END_TEST

START_TEST(too_few_samples_leave_the_fit_as_it_was)
{
    DwLineSamples samples = two_lines(0, 1);
    DwLineFit fit;
    dw_line_fit_init(&fit, &samples);
    fit.line[0] = (DwLine){.harmonics = 1, .rate_hz = 0.56, .prior_hz = NAN, .prior_off_hz = NAN};
    fit.count = 1;
    samples.count = 10;
    ck_assert(!dw_line_fit_run(&fit, &samples, 3));
    ck_assert_double_eq(fit.line[0].rate_hz, 0.56);
}
END_TEST

DW_SUITE("line fit", lines_nearer_than_a_window_are_parted, uncertainties_hold_as_often_as_they_claim,
         too_few_samples_leave_the_fit_as_it_was)
