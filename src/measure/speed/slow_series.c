// SPDX-License-Identifier: MIT
#include "measure/speed/slow_series.h"

#include "base/memory.h"
#include "dsp/fir.h"

#include <math.h>
#include <stdlib.h>

const double dw_slow_series_highest_hz = 8;

static const double RATE_HZ = 40, STOP_HZ = 30, STOP_DB = 70;
static const double LEAST_USED = 0.5; // of what a value is made from

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
        double sum = 0, used = 0;
        for (size_t i = 0; i < lowpass.count; i++) {
            sum += lowpass.taps[i] * a->deviation[n - half + i];
            used += (double)a->used[n - half + i];
        }
        used /= (double)lowpass.count;
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
    return series;
}

void dw_slow_series_clear(DwSlowSeries *series)
{
    free(series->clock[0]);
    free(series->clock[1]);
    free(series->value);
    free(series->weight);
    *series = (DwSlowSeries){0};
}

DwLineSamples dw_slow_series_samples(const DwSlowSeries *series)
{
    return (DwLineSamples){{series->clock[0], series->clock[1]}, series->value, series->weight, series->count};
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
    DwFft *fft = dw_fft_new(size);
    dw_fft_power_double(fft, left, rest.power);
    dw_fft_free(fft);
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
