// SPDX-License-Identifier: MIT
#include "measure/speed/slow_series.h"

#include "base/memory.h"
#include "base/wide.h"
#include "dsp/fir.h"

#include <math.h>
#include <stdlib.h>

const double dw_slow_series_highest_hz = 8;

static const double RATE_HZ = 40, STOP_HZ = 30, STOP_DB = 70;
static const double LEAST_USED = 0.5; // of what a value is made from

// Where the low-pass stands: what it passes of the deviation, and which share of the values under it is used.
DW_WIDE static void filter_at(const DwFir *lowpass, const double *deviation, const unsigned char *used, double *passed,
                              double *share)
{
    enum { LANES = 8 };
    double lane[LANES] = {0}, sum = 0;
    size_t kept = 0, i = 0;
    for (; i + LANES <= lowpass->count; i += LANES)
        for (size_t k = 0; k < LANES; k++)
            lane[k] += lowpass->taps[i + k] * deviation[i + k];
    for (; i < lowpass->count; i++)
        sum += lowpass->taps[i] * deviation[i];
    for (size_t k = 0; k < LANES; k++)
        sum += lane[k];
    for (size_t k = 0; k < lowpass->count; k++)
        kept += used[k];
    *passed = sum;
    *share = (double)kept / (double)lowpass->count;
}

DwSlowSeries dw_slow_series_of(const DwSpeedAnalysis *analysis, double centre_hz)
{
    const DwSpeedAnalysis *a = analysis;
    DwFir lowpass = dw_fir_lowpass(dw_slow_series_highest_hz / a->rate_hz, STOP_HZ / a->rate_hz, STOP_DB);
    size_t step = (size_t)lround(a->rate_hz / RATE_HZ), half = lowpass.count / 2;
    size_t most = a->count > lowpass.count ? (a->count - lowpass.count) / step + 1 : 0;
    DwSlowSeries series = {.rate_hz = a->rate_hz / (double)step};
    for (size_t i = 0; i < 2; i++)
        series.clock[i] = dw_memory_new(most + 1, sizeof(double));
    series.value = dw_memory_new(most + 1, sizeof(double));
    series.weight = dw_memory_new(most + 1, sizeof(double));
    double mean = 0;
    for (size_t n = 0; n < a->count; n++)
        mean += a->deviation[n] / (double)a->count;
    series.plain_percent = 100 * mean / centre_hz;
    double groove = 0, scale = 1 / (centre_hz + mean) / a->rate_hz;
    for (size_t n = 0, next = half; n < a->count && series.count < most; n++) {
        groove += (centre_hz + a->deviation[n]) * scale;
        if (n != next)
            continue;
        double sum, used;
        filter_at(&lowpass, a->deviation + n - half, a->used + n - half, &sum, &used);
        series.clock[0][series.count] = a->start_s + (double)n / a->rate_hz;
        series.clock[1][series.count] = groove;
        series.value[series.count] = 100 * sum / centre_hz;
        series.weight[series.count++] = used >= LEAST_USED ? 1 : 0;
        next += step;
    }
    dw_fir_clear(&lowpass);
    double begun = series.count ? series.clock[0][0] - series.clock[1][0] : 0; // both clocks begin alike
    for (size_t n = 0; n < series.count; n++)
        series.clock[1][n] += begun;
    if (series.count >= 2)
        series.fft = dw_fft_new(series.count & ~(size_t)1);
    return series;
}

void dw_slow_series_clear(DwSlowSeries *series)
{
    free(series->clock[0]);
    free(series->clock[1]);
    free(series->value);
    free(series->weight);
    dw_fft_free(series->fft);
    *series = (DwSlowSeries){0};
}

DwLineSamples dw_slow_series_samples(const DwSlowSeries *series)
{
    return (DwLineSamples){{series->clock[0], series->clock[1]}, series->value, series->weight, series->count};
}

// A sample of LEFT under a Hann window.
static double windowed(const DwSlowSeries *series, const double *left, size_t n)
{
    double window = 1 - cos(2 * M_PI * ((double)n + 0.5) / (double)series->count);
    return window * series->weight[n] * left[n];
}

// A phasor a sample, turned on from one rate tried to the next.
typedef struct {
    double real, imaginary;
} Phasor;

static Phasor turned(Phasor a, Phasor b)
{
    return (Phasor){a.real * b.real - a.imaginary * b.imaginary, a.real * b.imaginary + a.imaginary * b.real};
}

static Phasor phasor_at(double angle)
{
    return (Phasor){cos(angle), sin(angle)};
}

double dw_slow_series_power(const DwSlowSeries *series, const double *left, size_t clock, double rate_hz)
{
    double real = 0, imaginary = 0, first = series->clock[clock][0];
    for (size_t n = 0; n < series->count; n++) {
        Phasor there = phasor_at(2 * M_PI * rate_hz * (series->clock[clock][n] - first));
        double value = windowed(series, left, n);
        real += value * there.real;
        imaginary += value * there.imaginary;
    }
    return real * real + imaginary * imaginary;
}

// What SHOWN, turned on by STEP for each sample, adds up to.
static double turned_power(Phasor *shown, const Phasor *step, size_t count)
{
    double real = 0, imaginary = 0;
    for (size_t n = 0; n < count; n++) {
        real += shown[n].real;
        imaginary += shown[n].imaginary;
        shown[n] = turned(shown[n], step[n]);
    }
    return real * real + imaginary * imaginary;
}

double dw_slow_series_strongest(const DwSlowSeries *series, const double *left, size_t clock, double rate_hz,
                                double reach_hz)
{
    double span = (double)series->count / series->rate_hz, step = 0.25 / span, best = rate_hz, most = 0;
    long steps = lround(fmin(reach_hz / step, 200));
    double first_hz = rate_hz - (double)steps * step, begin = series->clock[clock][0];
    Phasor *shown = dw_memory_new(series->count, sizeof *shown), *turn = dw_memory_new(series->count, sizeof *turn);
    for (size_t n = 0; n < series->count; n++) {
        double since = 2 * M_PI * (series->clock[clock][n] - begin);
        double value = windowed(series, left, n);
        Phasor there = phasor_at(first_hz * since);
        shown[n] = (Phasor){value * there.real, value * there.imaginary};
        turn[n] = phasor_at(step * since);
    }
    for (long i = -steps; i <= steps; i++) {
        double power = turned_power(shown, turn, series->count);
        if (power > most) {
            most = power;
            best = rate_hz + (double)i * step;
        }
    }
    free(shown);
    free(turn);
    return best;
}

DwSlowRest dw_slow_rest_of(const DwSlowSeries *series, const DwLineFit *fit)
{
    DwLineSamples samples = dw_slow_series_samples(series);
    size_t size = series->count & ~(size_t)1;
    double *left = dw_memory_new(series->count, sizeof *left);
    DwSlowRest rest = {
        .bins = size / 2 + 1, .step_hz = series->rate_hz / (double)size, .span_s = (double)size / series->rate_hz};
    rest.power = dw_memory_new(rest.bins, sizeof *rest.power);
    dw_line_fit_rest(fit, &samples, left);
    for (size_t n = 0; n < series->count; n++)
        left[n] *= series->weight[n];
    dw_fft_power_double(series->fft, left, rest.power);
    free(left);
    return rest;
}

void dw_slow_rest_clear(DwSlowRest *rest)
{
    free(rest->power);
    *rest = (DwSlowRest){0};
}

static bool is_at_line(const DwSlowRest *rest, const DwLineFit *fit, double bin)
{
    for (size_t l = 0; l < fit->count; l++)
        for (size_t k = 1; k <= fit->line[l].harmonics; k++)
            if (fabs((double)k * fit->line[l].rate_hz / rest->step_hz - bin) < 1.5)
                return true;
    return bin < 2; // the trend took what was there
}

double dw_slow_rest_density(const DwSlowRest *rest, const DwLineFit *fit, double frequency_hz)
{
    enum { LEAST = 8 };
    double place = frequency_hz / rest->step_hz;
    // Outwards from the place until enough bins that no line took away are found.
    double sum = 0;
    size_t count = 0;
    double wanted = LEAST + place / 20;
    for (double away = 0; (double)count < wanted && away < (double)rest->bins; away++)
        for (int side = -1; side <= (away > 0 ? 1 : -1); side += 2) {
            double bin = round(place) + side * away;
            if (bin < 1 || bin >= (double)rest->bins || is_at_line(rest, fit, bin))
                continue;
            sum += rest->power[(size_t)bin];
            count++;
        }
    // A sine's amplitude squared on a Hann bin against a density: P = 3·S/T.
    return count ? sum / (double)count * rest->span_s / 3 : 0;
}
