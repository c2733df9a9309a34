// SPDX-License-Identifier: MIT
#include "measure/music/twin_features.h"

#include "base/memory.h"
#include "dsp/spectrum.h"

#include <math.h>
#include <stdlib.h>

static const double STEP_S = 0.05, SPECTRUM_S = 0.09, LOW_HZ = 120, HIGH_HZ = 4200;
static const double FLOOR = 1e-3; // of a band's mean power, below which nothing is read into its movements
enum { APART = 2 };               // values between the two whose difference is taken

static size_t power_of_two_near(double wanted)
{
    size_t size = 64;
    while ((double)size * M_SQRT2 < wanted)
        size *= 2;
    return size;
}

static void read_levels(DwTwinFeatures *features, const DwTwinSound *sound, size_t size, size_t hop)
{
    DwFft *fft = dw_fft_new(size);
    double *power = dw_memory_new(size / 2 + 1, sizeof *power);
    size_t edge[DW_TWIN_BANDS + 1];
    double high_hz = fmin(HIGH_HZ, 0.42 * sound->rate_hz);
    for (size_t b = 0; b <= DW_TWIN_BANDS; b++)
        edge[b] =
            (size_t)lround(LOW_HZ * pow(high_hz / LOW_HZ, (double)b / DW_TWIN_BANDS) * (double)size / sound->rate_hz);
    for (size_t n = 0; n < features->count; n++) {
        dw_fft_power(fft, sound->samples + n * hop, power);
        for (size_t b = 0; b < DW_TWIN_BANDS; b++) {
            double sum = 0;
            for (size_t k = edge[b]; k < edge[b + 1] || k == edge[b]; k++)
                sum += power[k];
            features->band[b][n] = (float)sum;
        }
    }
    free(power);
    dw_fft_free(fft);
}

// Powers become differences of logarithms, of unit power together.
static void make_movements(float *band, size_t count)
{
    double mean = 1e-30, squares = 1e-30;
    for (size_t n = 0; n < count; n++)
        mean += band[n] / (double)count;
    for (size_t n = 0; n < count; n++)
        band[n] = (float)log(band[n] / mean + FLOOR);
    for (size_t n = 0; n + APART < count; n++) {
        band[n] = fminf(fmaxf(band[n + APART] - band[n], -3), 3);
        squares += band[n] * band[n];
    }
    float scale = (float)(1 / sqrt(squares / (double)count));
    for (size_t n = 0; n < count; n++)
        band[n] = n + APART < count ? band[n] * scale : 0;
}

DwTwinFeatures dw_twin_features_of(const DwTwinSound *sound)
{
    DwTwinFeatures features = {0};
    size_t size = power_of_two_near(SPECTRUM_S * sound->rate_hz), hop = (size_t)lround(STEP_S * sound->rate_hz);
    features.step_s = (double)hop / sound->rate_hz;
    features.first_s = (double)size / 2 / sound->rate_hz + APART / 2.0 * features.step_s;
    if (sound->count < size)
        return features;
    features.count = (sound->count - size) / hop + 1;
    for (size_t b = 0; b < DW_TWIN_BANDS; b++)
        features.band[b] = dw_memory_new(features.count, sizeof(float));
    read_levels(&features, sound, size, hop);
    for (size_t b = 0; b < DW_TWIN_BANDS; b++)
        make_movements(features.band[b], features.count);
    return features;
}

void dw_twin_features_clear(DwTwinFeatures *features)
{
    for (size_t b = 0; b < DW_TWIN_BANDS; b++)
        free(features->band[b]);
    *features = (DwTwinFeatures){0};
}

double dw_twin_features_at(const DwTwinFeatures *features, size_t band, double at)
{
    if (at < 0 || at + 1 >= (double)features->count)
        return 0;
    size_t n = (size_t)at;
    const float *values = features->band[band];
    return values[n] + (values[n + 1] - values[n]) * (at - (double)n);
}
