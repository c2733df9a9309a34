// SPDX-License-Identifier: MIT
#include "measure/music/partials.h"

#include "base/memory.h"
#include "dsp/spectrum.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { PEAKS_MOST = 80, ACTIVE_MOST = 160, BESIDE = 4, AROUND = 40 };

static const double SPECTRUM_S = 0.35, HOP_S = 0.1, LEAST_S = 1.0;
static const double LOWEST_HZ = 80, HIGHEST_HZ = 4500;
static const double OVER_DB = 22, RANGE_DB = 65;
static const double NEAR_BINS = 1.3, NEAR_SHARE = 0.012; // how far a peak may move from one spectrum to the next

typedef struct {
    float hz, amplitude;
} Peak;

typedef struct {
    DwPartial partial;
    size_t room, missed;
    double amplitudes;
    float last_hz;
} Active;

typedef struct {
    double rate_hz, bin_hz, loudest_db;
    size_t size, hop, first, last; // bins looked at
    double *power, *level_db, *sums;
    DwFft *fft;
    Active active[ACTIVE_MOST];
    size_t active_count;
    DwPartials *found;
    size_t room;
} Finder;

static size_t power_of_two_near(double wanted)
{
    size_t size = 256;
    while ((double)size * M_SQRT2 < wanted)
        size *= 2;
    return size;
}

// Levels of all bins, and their running sums for the mean of what surrounds one.
static void take_spectrum(Finder *finder, const float *samples)
{
    size_t bins = finder->size / 2 + 1;
    dw_fft_power(finder->fft, samples, finder->power);
    finder->sums[0] = 0;
    for (size_t k = 0; k < bins; k++) {
        finder->level_db[k] = 10 * log10(finder->power[k] + 1e-20);
        finder->sums[k + 1] = finder->sums[k] + finder->level_db[k];
    }
}

static int is_peak(const Finder *finder, size_t k)
{
    for (size_t d = 1; d <= BESIDE; d++)
        if (finder->power[k - d] >= finder->power[k] || finder->power[k + d] > finder->power[k])
            return 0;
    size_t low = k > AROUND ? k - AROUND : 0, high = k + AROUND < finder->size / 2 ? k + AROUND : finder->size / 2;
    double around = (finder->sums[high + 1] - finder->sums[low]) / (double)(high + 1 - low);
    return finder->level_db[k] > around + OVER_DB && finder->level_db[k] > finder->loudest_db - RANGE_DB;
}

static size_t find_peaks(const Finder *finder, Peak peaks[PEAKS_MOST])
{
    size_t count = 0;
    for (size_t k = finder->first; k <= finder->last && count < PEAKS_MOST; k++)
        if (is_peak(finder, k)) {
            peaks[count++] =
                (Peak){(float)(dw_spectrum_peak_bin(finder->power, k) * finder->bin_hz), (float)sqrt(finder->power[k])};
            k += BESIDE;
        }
    return count;
}

// Ends the INDEXth that is followed: it is kept where it lasted.
static void end_active(Finder *finder, size_t index)
{
    Active *active = &finder->active[index];
    if (((double)active->partial.count - 1) * HOP_S + SPECTRUM_S / 2 >= LEAST_S) {
        DwPartials *found = finder->found;
        if (found->count == finder->room) {
            finder->room = 2 * finder->room + 64;
            found->partial = dw_memory_resize(found->partial, finder->room, sizeof *found->partial);
        }
        active->partial.level = (float)(active->amplitudes / (double)active->partial.count);
        found->partial[found->count++] = active->partial;
    } else {
        free(active->partial.hz);
    }
    finder->active[index] = finder->active[--finder->active_count];
}

static void add_point(Active *active, float hz, double amplitude)
{
    DwPartial *partial = &active->partial;
    if (partial->count == active->room) {
        active->room = 2 * active->room + 16;
        partial->hz = dw_memory_resize(partial->hz, active->room, sizeof *partial->hz);
    }
    partial->hz[partial->count++] = hz;
    active->amplitudes += amplitude;
    active->last_hz = hz;
}

static void go_on(Active *active, const Peak *peak)
{
    float from = active->last_hz;
    for (size_t m = 1; m <= active->missed; m++)
        add_point(active, from + (peak->hz - from) * (float)m / (float)(active->missed + 1), peak->amplitude);
    active->missed = 0;
    add_point(active, peak->hz, peak->amplitude);
}

// The peak nearest to HZ that is not taken yet and near enough; COUNT without one.
static size_t nearest(const Finder *finder, const Peak *peaks, const char *taken, size_t count, float hz)
{
    size_t best = count;
    double least = fmax(NEAR_BINS * finder->bin_hz, NEAR_SHARE * hz);
    for (size_t i = 0; i < count; i++)
        if (!taken[i] && fabs((double)peaks[i].hz - hz) < least) {
            least = fabs((double)peaks[i].hz - hz);
            best = i;
        }
    return best;
}

static void follow(Finder *finder, const Peak *peaks, size_t count, size_t spectrum)
{
    char taken[PEAKS_MOST] = {0};
    for (size_t a = finder->active_count; a-- > 0;) {
        Active *active = &finder->active[a];
        size_t best = nearest(finder, peaks, taken, count, active->last_hz);
        if (best < count) {
            taken[best] = 1;
            go_on(active, &peaks[best]);
        } else if (++active->missed > 1) {
            end_active(finder, a);
        }
    }
    for (size_t i = 0; i < count && finder->active_count < ACTIVE_MOST; i++)
        if (!taken[i]) {
            Active *active = &finder->active[finder->active_count++];
            *active = (Active){.partial = {.from = spectrum}};
            add_point(active, peaks[i].hz, peaks[i].amplitude);
        }
}

// The level of the loudest bin of all, looked for in every fourth spectrum.
static void find_loudest(Finder *finder, const float *samples, size_t spectra)
{
    double loudest = 1e-20;
    for (size_t n = 0; n < spectra; n += 4) {
        dw_fft_power(finder->fft, samples + n * finder->hop, finder->power);
        for (size_t k = finder->first; k <= finder->last; k++)
            loudest = fmax(loudest, finder->power[k]);
    }
    finder->loudest_db = 10 * log10(loudest);
}

static int by_beginning(const void *a, const void *b)
{
    const DwPartial *first = a, *second = b;
    if (first->from != second->from)
        return first->from < second->from ? -1 : 1;
    return (first->hz[0] > second->hz[0]) - (first->hz[0] < second->hz[0]);
}

static void find_all(Finder *finder, const float *samples, size_t spectra)
{
    find_loudest(finder, samples, spectra);
    Peak peaks[PEAKS_MOST];
    for (size_t n = 0; n < spectra; n++) {
        take_spectrum(finder, samples + n * finder->hop);
        follow(finder, peaks, find_peaks(finder, peaks), n);
    }
    while (finder->active_count)
        end_active(finder, finder->active_count - 1);
    if (finder->found->count)
        qsort(finder->found->partial, finder->found->count, sizeof *finder->found->partial, by_beginning);
}

DwPartials dw_partials_find(const float *samples, size_t count, double rate_hz)
{
    DwPartials found = {0};
    Finder *finder = dw_memory_new(1, sizeof *finder);
    finder->rate_hz = rate_hz;
    finder->size = power_of_two_near(SPECTRUM_S * rate_hz);
    finder->hop = (size_t)lround(HOP_S * rate_hz);
    finder->bin_hz = rate_hz / (double)finder->size;
    finder->first = (size_t)ceil(LOWEST_HZ / finder->bin_hz);
    finder->last = (size_t)(fmin(HIGHEST_HZ, 0.4 * rate_hz) / finder->bin_hz);
    finder->found = &found;
    found.first_s = (double)finder->size / 2 / rate_hz;
    found.hop_s = (double)finder->hop / rate_hz;
    if (count >= finder->size) {
        finder->power = dw_memory_new(finder->size / 2 + 1, sizeof *finder->power);
        finder->level_db = dw_memory_new(finder->size / 2 + 1, sizeof *finder->level_db);
        finder->sums = dw_memory_new(finder->size / 2 + 2, sizeof *finder->sums);
        finder->fft = dw_fft_new(finder->size);
        find_all(finder, samples, (count - finder->size) / finder->hop + 1);
        dw_fft_free(finder->fft);
        free(finder->power);
        free(finder->level_db);
        free(finder->sums);
    }
    free(finder);
    return found;
}

void dw_partials_clear(DwPartials *partials)
{
    for (size_t i = 0; i < partials->count; i++)
        free(partials->partial[i].hz);
    free(partials->partial);
    *partials = (DwPartials){0};
}
