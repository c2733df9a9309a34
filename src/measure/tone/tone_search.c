// SPDX-License-Identifier: MIT
#include "measure/tone/tone_search.h"

#include "base/memory.h"
#include "dsp/spectrum.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    FRAME = 2048,
    HISTORY = 8, // frames that must agree
    AGREEING = 7 // a tick may spoil one of them
};

static const double LOWEST_HZ = 150;     // below lie hum and rumble
static const double SPREAD_HZ = 25;      // a tone with wow, under the window
static const double DOMINANCE = 0.5;     // share of the power that the tone must carry
static const double STEADINESS = 0.08;   // of its frequency: wow of a tenth, once a turn
static const double QUIETEST = 1e-8 / 2; // power of a tone at −80 dBFS

struct DwToneSearch {
    double rate_hz;
    DwFft *fft;
    double *power;
    double frequency_hz[HISTORY]; // NAN where the frame held no dominant tone
    size_t seen;
};

DwToneSearch *dw_tone_search_new(double rate_hz)
{
    DwToneSearch *search = dw_memory_new(1, sizeof *search);
    search->rate_hz = rate_hz;
    search->fft = dw_fft_new(FRAME);
    search->power = dw_memory_new(FRAME / 2 + 1, sizeof *search->power);
    return search;
}

void dw_tone_search_free(DwToneSearch *search)
{
    if (!search)
        return;
    dw_fft_free(search->fft);
    free(search->power);
    free(search);
}

void dw_tone_search_reset(DwToneSearch *search)
{
    search->seen = 0;
}

size_t dw_tone_search_frame(const DwToneSearch *search)
{
    (void)search;
    return FRAME;
}

size_t dw_tone_search_hop(const DwToneSearch *search)
{
    (void)search;
    return FRAME / 2;
}

size_t dw_tone_search_hops_back(void)
{
    return HISTORY - 1;
}

// The frequency of a frame's dominant tone and its share of the power; NAN without one.
static double dominant(DwToneSearch *search, const float *samples, double *share)
{
    dw_fft_power(search->fft, samples, search->power);
    double step = search->rate_hz / FRAME, total = 0, tone = 0;
    size_t low = (size_t)(LOWEST_HZ / step), high = (size_t)(0.46 * FRAME), peak = low;
    for (size_t k = low; k <= high; k++) {
        total += search->power[k];
        if (search->power[k] > search->power[peak])
            peak = k;
    }
    size_t reach = (size_t)ceil(SPREAD_HZ / step);
    for (size_t k = peak > low + reach ? peak - reach : low; k <= peak + reach && k <= high; k++)
        tone += search->power[k];
    *share = total > 0 ? tone / total : 0;
    bool heard = search->power[peak] > QUIETEST && *share >= DOMINANCE && peak > low && peak < high;
    return heard ? dw_spectrum_peak_bin(search->power, peak) * step : NAN;
}

bool dw_tone_search_push(DwToneSearch *search, const float *left, const float *right, double *frequency_hz)
{
    double share = 0, other_share = 0;
    double frequency = dominant(search, left, &share);
    if (right) {
        double other = dominant(search, right, &other_share);
        if (isnan(frequency) || (!isnan(other) && other_share > share))
            frequency = other;
    }
    memmove(search->frequency_hz, search->frequency_hz + 1, (HISTORY - 1) * sizeof *search->frequency_hz);
    search->frequency_hz[HISTORY - 1] = frequency;
    if (++search->seen < HISTORY)
        return false;
    double sum = 0, count = 0;
    for (size_t i = 0; i < HISTORY; i++)
        if (!isnan(search->frequency_hz[i])) {
            sum += search->frequency_hz[i];
            count++;
        }
    if (count < AGREEING || isnan(search->frequency_hz[0]))
        return false;
    double mean = sum / count;
    for (size_t i = 0; i < HISTORY; i++)
        if (fabs(search->frequency_hz[i] - mean) > STEADINESS * mean)
            return false;
    *frequency_hz = mean;
    return true;
}
