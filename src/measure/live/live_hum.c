// SPDX-License-Identifier: MIT
#include "measure/live/live_hum.h"

#include "base/memory.h"
#include "dsp/spectrum.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>

enum { SPAN = 32768, BESIDE_MOST = 128 };

static const double WANDER = 0.005;       // of its frequency, by which the mains may be off
static const double FLOOR_HZ = 8;         // the noise is judged within it
static const double HANN_POWER = 1.5;     // a line's power over that of its peak bin, over all bins
static const double STANDING_OUT = 4;     // 6 dB over the noise in the same bins
static const double MEDIAN_OF_MEAN = 0.7; // median over mean of a spectrum's noise power (ln 2)

struct DwLiveHum {
    double rate_hz, mains_hz;
    DwFft *fft;
    double *power;
};

DwLiveHum *dw_live_hum_new(double rate_hz, double mains_hz)
{
    DwLiveHum *hum = dw_memory_new(1, sizeof *hum);
    hum->rate_hz = rate_hz;
    hum->mains_hz = mains_hz;
    hum->fft = dw_fft_new(SPAN);
    hum->power = dw_memory_new(SPAN / 2 + 1, sizeof *hum->power);
    return hum;
}

void dw_live_hum_free(DwLiveHum *hum)
{
    if (!hum)
        return;
    dw_fft_free(hum->fft);
    free(hum->power);
    free(hum);
}

size_t dw_live_hum_span(void)
{
    return SPAN;
}

// Power that the noise beside PEAK puts into COUNT bins.
static double noise_beside(const DwLiveHum *hum, size_t peak, size_t count)
{
    float beside[BESIDE_MOST];
    size_t reach = (size_t)(FLOOR_HZ / hum->rate_hz * SPAN), kept = 0;
    for (size_t k = peak > reach ? peak - reach : 1; k <= peak + reach && kept < BESIDE_MOST; k++)
        if (k + count < peak || k > peak + count)
            beside[kept++] = (float)hum->power[k];
    return kept ? (double)count * dw_statistics_quantile(beside, kept, 0.5) / MEDIAN_OF_MEAN : 0;
}

static void read_line(const DwLiveHum *hum, DwLiveHumLine *line)
{
    double step = hum->rate_hz / SPAN, reach_hz = WANDER * line->frequency_hz + step;
    size_t from = (size_t)((line->frequency_hz - reach_hz) / step),
           to = (size_t)((line->frequency_hz + reach_hz) / step);
    size_t peak = from;
    for (size_t k = from; k <= to; k++)
        if (hum->power[k] > hum->power[peak])
            peak = k;
    double power = 0;
    for (size_t k = peak - 2; k <= peak + 2; k++)
        power += hum->power[k];
    double amplitude = sqrt(power / HANN_POWER);
    if (amplitude <= line->amplitude)
        return;
    line->amplitude = amplitude;
    line->noisy = power < STANDING_OUT * noise_beside(hum, peak, 5);
}

bool dw_live_hum_read(DwLiveHum *hum, const DwWindow channel[2], DwLiveHumLine line[DW_LIVE_HUM_LINES])
{
    if (channel[0].count < SPAN)
        return false;
    for (size_t i = 0; i < DW_LIVE_HUM_LINES; i++)
        line[i] = (DwLiveHumLine){.frequency_hz = hum->mains_hz * (double)(i + 1)};
    for (size_t c = 0; c < 2 && channel[c].values; c++) {
        dw_fft_power(hum->fft, channel[c].values + (channel[c].count - SPAN), hum->power);
        for (size_t i = 0; i < DW_LIVE_HUM_LINES; i++)
            read_line(hum, &line[i]);
    }
    return true;
}
