// SPDX-License-Identifier: MIT
#include "measure/music/twin_levels.h"

#include "base/memory.h"
#include "dsp/spectrum.h"
#include "dsp/statistics.h"
#include "measure/music/twin_wiring.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { SIZE = 4096, PLACES_LEAST = 8 };

static const double MIDDLE_LOW_HZ = 300, MIDDLE_HIGH_HZ = 3200;
static const double NOISE_DB = 3;  // over a band's quietest seconds: music
static const double LOUDEST = 0.5; // of the places are less loud than those that count
static const double MOST_S = 1800;
static const double MEDIAN_95 = 1.96 * 1.2533; // of a median's deviation, over that of one place's
static const double ALIKE = 3;                 // neighbours that tell the same: a note lasts

struct DwTwinLevels {
    double rate_hz;
    unsigned channels;
    DwFft *fft;
    double (*bins[2])[2];
    float *block[2];
    size_t edge[DW_TWIN_THIRDS][2]; // each band's first bin, and the first behind it
    size_t filled, frames;          // FRAMES: in the second that is being filled
    size_t spectra;
    float (*second)[3][DW_TWIN_THIRDS]; // powers of either channel, and of what both have in common
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
    for (size_t b = 0; b < DW_TWIN_THIRDS; b++)
        for (unsigned i = 0; i < 2; i++) {
            double edge_hz = dw_twin_levels_third_hz(b) * pow(10, i ? 0.05 : -0.05);
            levels->edge[b][i] = (size_t)fmin(ceil(edge_hz * SIZE / rate_hz), SIZE / 2);
        }
    for (unsigned c = 0; c < levels->channels; c++) {
        levels->bins[c] = dw_memory_new(SIZE / 2 + 1, sizeof *levels->bins[c]);
        levels->block[c] = dw_memory_new(SIZE, sizeof(float));
    }
    return levels;
}

void dw_twin_levels_free(DwTwinLevels *levels)
{
    if (!levels)
        return;
    dw_fft_free(levels->fft);
    for (unsigned c = 0; c < 2; c++) {
        free(levels->bins[c]);
        free(levels->block[c]);
    }
    free(levels->second);
    free(levels);
}

// The sum over a band's bins of the one channel times the other: its real part.
static float common_of(const DwTwinLevels *levels, unsigned a, unsigned b, size_t band)
{
    double re = 0, im = 0;
    for (size_t k = levels->edge[band][0]; k < levels->edge[band][1]; k++) {
        re += levels->bins[a][k][0] * levels->bins[b][k][0];
        im += levels->bins[a][k][1] * levels->bins[b][k][1];
    }
    return (float)(re + im);
}

static void add_spectrum(DwTwinLevels *levels)
{
    for (unsigned c = 0; c < levels->channels; c++)
        dw_fft_bins(levels->fft, levels->block[c], levels->bins[c]);
    float(*second)[DW_TWIN_THIRDS] = levels->second[levels->count];
    for (size_t b = 0; b < DW_TWIN_THIRDS; b++) {
        for (unsigned c = 0; c < levels->channels; c++)
            second[c][b] += common_of(levels, c, c, b);
        if (levels->channels == 2)
            second[2][b] += common_of(levels, 0, 1, b);
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

static void end_second(DwTwinLevels *levels)
{
    float *power = &levels->second[levels->count][0][0];
    for (size_t i = 0; i < 3 * (size_t)DW_TWIN_THIRDS; i++)
        power[i] /= (float)fmax(1, (double)levels->spectra);
    levels->frames = 0;
    levels->count++;
}

// Takes in frames up to the end of a spectrum or of a second. Returned: how many.
static size_t push_some(DwTwinLevels *levels, const float *interleaved, size_t frames)
{
    size_t channels = levels->channels, second = (size_t)ceil(fmax(levels->rate_hz, 1)), count = frames;
    if (levels->frames == 0)
        begin_second(levels);
    count = SIZE - levels->filled < count ? SIZE - levels->filled : count;
    count = second - levels->frames < count ? second - levels->frames : count;
    for (size_t c = 0; c < channels; c++)
        for (size_t n = 0; n < count; n++)
            levels->block[c][levels->filled + n] = interleaved[n * channels + c];
    levels->filled += count;
    levels->frames += count;
    if (levels->filled == SIZE) {
        add_spectrum(levels);
        levels->filled = 0;
    }
    if (levels->frames == second)
        end_second(levels);
    return count;
}

void dw_twin_levels_push(DwTwinLevels *levels, const float *interleaved, size_t frames)
{
    while (frames > 0 && (double)levels->count < MOST_S) {
        size_t count = push_some(levels, interleaved, frames);
        interleaved += count * levels->channels;
        frames -= count;
    }
}

unsigned dw_twin_levels_channels(const DwTwinLevels *levels)
{
    return levels->channels;
}

// --- comparing --------------------------------------------------------------------

double dw_twin_levels_power(const DwTwinLevels *levels, double at_s, size_t channel, size_t band)
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

double dw_twin_levels_common(const DwTwinLevels *levels, double at_s, size_t band)
{
    size_t n = at_s > 0 ? (size_t)at_s : 0;
    if (n >= levels->count || levels->channels < 2)
        return 0;
    double both = (double)levels->second[n][0][band] * levels->second[n][1][band];
    return both > 0 ? levels->second[n][2][band] / sqrt(both) : 0;
}

static double floor_of(const DwTwinLevels *levels, size_t channel, size_t band, float *room)
{
    for (size_t n = 0; n < levels->count; n++)
        room[n] = (float)dw_twin_levels_power(levels, (double)n + 0.5, channel, band);
    return dw_statistics_quantile(room, levels->count, 0.02);
}

// The second over the first in BAND of CHANNEL, in decibels: the median of the places that are loudest in both, which
// stand over what either chain adds. NAN without enough.
static double compare_band(const DwTwinLevels *const two[2], const DwTwinPath *path, const size_t channel[2],
                           size_t band, float *room, double *off)
{
    double over = pow(10, NOISE_DB / 10);
    double floors[2] = {over * floor_of(two[0], channel[0], band, room),
                        over * floor_of(two[1], channel[1], band, room)};
    for (size_t p = 0; p < path->count; p++)
        room[p] = (float)sqrt(dw_twin_levels_power(two[0], path->place[p].at_s, channel[0], band) *
                              dw_twin_levels_power(two[1], path->place[p].other_s, channel[1], band));
    double loud = path->count ? dw_statistics_quantile(room, path->count, LOUDEST) : 0;
    size_t kept = 0;
    for (size_t p = 0; p < path->count; p++) {
        double a = dw_twin_levels_power(two[0], path->place[p].at_s, channel[0], band);
        double b = dw_twin_levels_power(two[1], path->place[p].other_s, channel[1], band);
        if (sqrt(a * b) >= loud && a > floors[0] && b > floors[1] && path->place[p].likeness > 0.2)
            room[kept++] = (float)(10 * log10(b / a));
    }
    *off = NAN;
    if (kept < PLACES_LEAST)
        return NAN;
    double median = dw_statistics_quantile(room, kept, 0.5);
    double spread = (dw_statistics_quantile(room, kept, 0.75) - dw_statistics_quantile(room, kept, 0.25)) / 1.35;
    *off = MEDIAN_95 * spread / sqrt((double)kept / ALIKE);
    return median;
}

// The mean of the middle bands' VALUES; NAN of too few.
static double middle_of(const double *values)
{
    double sum = 0, count = 0;
    for (size_t b = 0; b < DW_TWIN_THIRDS; b++) {
        double hz = dw_twin_levels_third_hz(b);
        if (hz > MIDDLE_LOW_HZ && hz < MIDDLE_HIGH_HZ && isfinite(values[b])) {
            sum += values[b];
            count++;
        }
    }
    return count >= 4 ? sum / count : NAN;
}

// Which channels are compared as the CHANNELth: of each recording. The one that is left where another is silent.
static void choose(const DwTwinWiring *wiring, unsigned channels, size_t channel, size_t which[2])
{
    which[0] = channels == 2 ? channel : 2;
    which[1] = channels == 2 && wiring->exchanged ? 1 - channel : which[0];
    for (unsigned i = 0; i < 2; i++)
        if (wiring->silent[i] >= 0)
            which[0] = which[1] = 1 - (size_t)wiring->silent[i];
}

bool dw_twin_levels_compare(const DwTwinLevels *one, const DwTwinLevels *two, const DwTwinPath *path,
                            const DwTwinWiring *wiring, DwTwinLevelling *levelling)
{
    const DwTwinLevels *const both[2] = {one, two};
    size_t longest = one->count > two->count ? one->count : two->count, which[2];
    longest = path->count > longest ? path->count : longest;
    float *room = dw_memory_new(longest + 1, sizeof *room);
    bool is_stereo = one->channels == 2 && two->channels == 2 && wiring->silent[0] < 0 && wiring->silent[1] < 0;
    *levelling = (DwTwinLevelling){.channels = is_stereo ? 2 : 1};
    double middle[2] = {NAN, NAN};
    for (size_t c = 0; c < levelling->channels; c++) {
        choose(wiring, levelling->channels, c, which);
        for (size_t b = 0; b < DW_TWIN_THIRDS; b++)
            levelling->response_db[c][b] = compare_band(both, path, which, b, room, &levelling->off_db[c][b]);
        middle[c] = middle_of(levelling->response_db[c]);
    }
    free(room);
    levelling->level_db = levelling->channels == 2 ? (middle[0] + middle[1]) / 2 : middle[0];
    levelling->balance_db = levelling->channels == 2 ? middle[1] - middle[0] : NAN;
    levelling->balance_off_db = hypot(middle_of(levelling->off_db[0]), middle_of(levelling->off_db[1]));
    for (size_t c = 0; c < levelling->channels; c++)
        for (size_t b = 0; b < DW_TWIN_THIRDS; b++)
            levelling->response_db[c][b] -= levelling->level_db;
    return isfinite(levelling->level_db);
}
