// SPDX-License-Identifier: MIT
#include "measure/music/twin_levels.h"

#include "base/memory.h"
#include "dsp/spectrum.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { SIZE = 4096, PLACES_LEAST = 10 };

static const double MIDDLE_LOW_HZ = 300, MIDDLE_HIGH_HZ = 3200;
static const double NOISE_DB = 12; // over a band's quietest seconds: music
static const double MOST_S = 1800;

struct DwTwinLevels {
    double rate_hz;
    unsigned channels;
    DwFft *fft;
    double *power;
    float *block[2];
    size_t filled, frames; // FRAMES: in the second that is being filled
    size_t spectra;
    float (*second)[2][DW_TWIN_THIRDS]; // powers
    size_t count, room;
};

double dw_twin_levels_third_hz(size_t band)
{
    return 1000 * pow(10, ((double)band - 14) / 10);
}

DwTwinLevels *dw_twin_levels_new(double rate_hz, unsigned channels)
{
    DwTwinLevels *levels = dw_memory_new(1, sizeof *levels);
    levels->rate_hz = rate_hz;
    levels->channels = channels > 2 ? 2 : channels;
    levels->fft = dw_fft_new(SIZE);
    levels->power = dw_memory_new(SIZE / 2 + 1, sizeof(double));
    for (unsigned c = 0; c < levels->channels; c++)
        levels->block[c] = dw_memory_new(SIZE, sizeof(float));
    return levels;
}

void dw_twin_levels_free(DwTwinLevels *levels)
{
    if (!levels)
        return;
    dw_fft_free(levels->fft);
    free(levels->power);
    free(levels->block[0]);
    free(levels->block[1]);
    free(levels->second);
    free(levels);
}

static void add_spectrum(DwTwinLevels *levels)
{
    double bin_hz = levels->rate_hz / SIZE;
    for (unsigned c = 0; c < levels->channels; c++) {
        dw_fft_power(levels->fft, levels->block[c], levels->power);
        for (size_t b = 0; b < DW_TWIN_THIRDS; b++) {
            double middle = dw_twin_levels_third_hz(b), low = middle * pow(10, -0.05), high = middle * pow(10, 0.05);
            double sum = 0;
            for (size_t k = (size_t)ceil(low / bin_hz); k < SIZE / 2 && (double)k * bin_hz < high; k++)
                sum += levels->power[k];
            levels->second[levels->count][c][b] += (float)sum;
        }
    }
    levels->spectra++;
}

static void begin_second(DwTwinLevels *levels)
{
    if (levels->count == levels->room) {
        levels->room += 256;
        levels->second = dw_memory_resize(levels->second, levels->room, sizeof *levels->second);
    }
    memset(levels->second[levels->count], 0, sizeof *levels->second);
    levels->spectra = 0;
}

// Every other block of a second is looked at, which is enough for levels.
void dw_twin_levels_push(DwTwinLevels *levels, const float *interleaved, size_t frames)
{
    for (size_t n = 0; n < frames && (double)levels->count < MOST_S; n++) {
        if (levels->frames == 0)
            begin_second(levels);
        if (levels->filled < SIZE)
            for (unsigned c = 0; c < levels->channels; c++)
                levels->block[c][levels->filled] = interleaved[n * levels->channels + c];
        if (++levels->filled == SIZE)
            add_spectrum(levels);
        if (levels->filled == 2 * (size_t)SIZE)
            levels->filled = 0;
        if (++levels->frames < (size_t)levels->rate_hz)
            continue;
        for (size_t i = 0; i < 2 * (size_t)DW_TWIN_THIRDS; i++)
            levels->second[levels->count][i / DW_TWIN_THIRDS][i % DW_TWIN_THIRDS] /=
                (float)fmax(1, (double)levels->spectra);
        levels->frames = 0;
        levels->count++;
    }
}

// --- comparing --------------------------------------------------------------------

// Power of BAND around AT_S, of CHANNEL, or of both together (2).
static double power_at(const DwTwinLevels *levels, double at_s, size_t channel, size_t band)
{
    double at = at_s - 0.5;
    size_t n = at > 0 ? (size_t)at : 0;
    if (n + 1 >= levels->count)
        return 0;
    double share = fmax(0, at - (double)n), sum = 0;
    for (size_t c = channel < 2 ? channel : 0; c < levels->channels; c++) {
        sum += (1 - share) * levels->second[n][c][band] + share * levels->second[n + 1][c][band];
        if (channel < 2)
            break;
    }
    return sum / (channel < 2 ? 1 : levels->channels);
}

static double floor_of(const DwTwinLevels *levels, size_t channel, size_t band, float *room)
{
    for (size_t n = 0; n < levels->count; n++)
        room[n] = (float)power_at(levels, (double)n + 0.5, channel, band);
    return dw_statistics_quantile(room, levels->count, 0.02);
}

// The second over the first in BAND of CHANNEL, in decibels: the median of places with music. NAN without enough.
static double compare_band(const DwTwinLevels *const two[2], const DwTwinPath *path, size_t channel, size_t band,
                           float *room, double *spread)
{
    double over = pow(10, NOISE_DB / 10);
    double floors[2] = {over * floor_of(two[0], channel, band, room), over * floor_of(two[1], channel, band, room)};
    size_t kept = 0;
    for (size_t p = 0; p < path->count; p++) {
        double a = power_at(two[0], path->place[p].at_s, channel, band);
        double b = power_at(two[1], path->place[p].other_s, channel, band);
        if (a > floors[0] && b > floors[1] && path->place[p].likeness > 0.2)
            room[kept++] = (float)(10 * log10(b / a));
    }
    *spread = NAN;
    if (kept < PLACES_LEAST)
        return NAN;
    double median = dw_statistics_quantile(room, kept, 0.5);
    *spread = (dw_statistics_quantile(room, kept, 0.75) - dw_statistics_quantile(room, kept, 0.25)) / 1.35;
    return median;
}

static double middle_of(const double *response)
{
    double sum = 0, count = 0;
    for (size_t b = 0; b < DW_TWIN_THIRDS; b++) {
        double hz = dw_twin_levels_third_hz(b);
        if (hz > MIDDLE_LOW_HZ && hz < MIDDLE_HIGH_HZ && isfinite(response[b])) {
            sum += response[b];
            count++;
        }
    }
    return count >= 4 ? sum / count : NAN;
}

bool dw_twin_levels_compare(const DwTwinLevels *one, const DwTwinLevels *two, const DwTwinPath *path,
                            DwTwinLevelling *levelling)
{
    const DwTwinLevels *const both[2] = {one, two};
    size_t longest = one->count > two->count ? one->count : two->count;
    longest = path->count > longest ? path->count : longest;
    float *room = dw_memory_new(longest + 1, sizeof *room);
    *levelling = (DwTwinLevelling){.channels = one->channels == 2 && two->channels == 2 ? 2 : 1};
    double middle[2] = {NAN, NAN};
    for (size_t c = 0; c < levelling->channels; c++) {
        for (size_t b = 0; b < DW_TWIN_THIRDS; b++)
            levelling->response_db[c][b] =
                compare_band(both, path, levelling->channels == 2 ? c : 2, b, room, &levelling->spread_db[c][b]);
        middle[c] = middle_of(levelling->response_db[c]);
    }
    free(room);
    levelling->level_db = levelling->channels == 2 ? (middle[0] + middle[1]) / 2 : middle[0];
    levelling->balance_db = levelling->channels == 2 ? middle[1] - middle[0] : NAN;
    for (size_t c = 0; c < levelling->channels; c++)
        for (size_t b = 0; b < DW_TWIN_THIRDS; b++)
            levelling->response_db[c][b] -= levelling->level_db;
    return isfinite(levelling->level_db);
}
