// SPDX-License-Identifier: MIT
#include "measure/music/twin_levels.h"

#include "base/memory.h"
#include "dsp/spectrum.h"
#include "dsp/statistics.h"
#include "measure/music/twin_wiring.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { SIZE_LEAST = 4096, PLACES_LEAST = 8 };
enum { PARTS = 8, ALL_PARTS = PARTS * DW_TWIN_THIRDS }; // of a band, so that it can be moved by what the speeds differ

static const double BIN_HZ = 4; // at most: the lowest band is 9 Hz wide

static const double MIDDLE_LOW_HZ = 300, MIDDLE_HIGH_HZ = 3200;
static const double NOISE_DB = 3;  // over a band's quietest seconds: music
static const double LOUDEST = 0.5; // of the places are less loud than those that count
static const double MOST_S = 1800;
static const double MEDIAN_95 = 1.96 * 1.2533; // of a median's deviation, over that of one place's
static const double VAGUE_DB = 2;              // a band that may be off by more is not told
static const double LIKENESS = 0.2;            // of places that count
static const double TOGETHER = 0.6;            // how levels rise and fall with one another where both are music
static const double ALIKE = 3;                 // neighbours that tell the same: a note lasts

// The bins of a part. The first and the last count by the share that lies within: else one tone would be in a band at
// one sampling rate and out of it at another.
typedef struct {
    size_t first, last;
    double first_share, last_share; // the last's is 0 where it is the first
} Reach;

struct DwTwinLevels {
    double rate_hz;
    unsigned channels;
    DwFft *fft;
    double (*bins[2])[2];
    float *block[2];
    size_t size; // of a spectrum
    Reach reach[ALL_PARTS];
    size_t filled, frames; // FRAMES: in the second that is being filled
    size_t spectra;
    float (*part)[3][ALL_PARTS];        // powers of either channel, and of what both have in common
    float (*second)[3][DW_TWIN_THIRDS]; // the same by bands
    size_t count, room;
};

double dw_twin_levels_third_hz(size_t band)
{
    return 1000 * pow(10, ((double)band - 14) / 10);
}

// Of PART, with BINS in a hertz and LAST the highest bin. Bin k reaches from half below it to half above.
static Reach reach_of(size_t part, double bins, size_t last)
{
    double low_hz = dw_twin_levels_third_hz(0) * pow(10, 0.1 * (double)part / PARTS - 0.05);
    double low = fmin(low_hz * bins, (double)last) + 0.5,
           high = fmin(low_hz * pow(10, 0.1 / PARTS) * bins, (double)last) + 0.5;
    Reach reach = {.first = (size_t)low, .last = (size_t)high, .first_share = high - low};
    if (reach.last > last)
        reach.last = last;
    if (reach.last > reach.first) {
        reach.first_share = (double)reach.first + 1 - low;
        reach.last_share = high - (double)reach.last;
    }
    return reach;
}

DwTwinLevels *dw_twin_levels_new(double rate_hz, unsigned channels)
{
    DwTwinLevels *levels = dw_memory_new(1, sizeof *levels);
    levels->rate_hz = rate_hz;
    levels->channels = channels > 2 ? 2 : channels;
    levels->size = SIZE_LEAST;
    while (rate_hz > BIN_HZ * (double)levels->size)
        levels->size *= 2;
    levels->fft = dw_fft_new(levels->size);
    for (size_t p = 0; p < ALL_PARTS; p++)
        levels->reach[p] = reach_of(p, (double)levels->size / rate_hz, levels->size / 2);
    for (unsigned c = 0; c < levels->channels; c++) {
        levels->bins[c] = dw_memory_new(levels->size / 2 + 1, sizeof *levels->bins[c]);
        levels->block[c] = dw_memory_new(levels->size, sizeof(float));
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
    free(levels->part);
    free(levels->second);
    free(levels);
}

// Adds SHARE of BIN to the powers of either channel and to the real part of the one times the other.
static inline void add_bin(const DwTwinLevels *levels, unsigned right, size_t bin, double share, double sums[3])
{
    const double *l = levels->bins[0][bin], *r = levels->bins[right][bin];
    sums[0] += share * (l[0] * l[0] + l[1] * l[1]);
    sums[1] += share * (r[0] * r[0] + r[1] * r[1]);
    sums[2] += share * (l[0] * r[0] + l[1] * r[1]);
}

static void add_spectrum(DwTwinLevels *levels)
{
    unsigned right = levels->channels - 1;
    for (unsigned c = 0; c < levels->channels; c++)
        dw_fft_bins(levels->fft, levels->block[c], levels->bins[c]);
    float(*part)[ALL_PARTS] = levels->part[levels->count];
    for (size_t p = 0; p < ALL_PARTS; p++) {
        const Reach *reach = &levels->reach[p];
        double sums[3] = {0};
        add_bin(levels, right, reach->first, reach->first_share, sums);
        for (size_t k = reach->first + 1; k < reach->last; k++)
            add_bin(levels, right, k, 1, sums);
        add_bin(levels, right, reach->last, reach->last_share, sums);
        for (size_t i = 0; i < 3; i++)
            part[i][p] += (float)sums[i];
    }
    levels->spectra++;
}

static void begin_second(DwTwinLevels *levels)
{
    if (levels->count == levels->room) {
        levels->room += 256;
        levels->part = dw_memory_resize(levels->part, levels->room, sizeof *levels->part);
    }
    memset(levels->part[levels->count], 0, sizeof *levels->part);
    levels->spectra = 0;
}

static void end_second(DwTwinLevels *levels)
{
    float *power = &levels->part[levels->count][0][0];
    for (size_t i = 0; i < 3 * (size_t)ALL_PARTS; i++)
        power[i] /= (float)fmax(1, (double)levels->spectra);
    levels->frames = 0;
    levels->count++;
}

// Each spectrum shares half of its frames with the next: what one window nearly leaves out stands amid the other.
static void keep_half(DwTwinLevels *levels)
{
    size_t half = levels->size / 2;
    for (unsigned c = 0; c < levels->channels; c++)
        memcpy(levels->block[c], levels->block[c] + half, half * sizeof(float));
    levels->filled = half;
}

// Takes in frames up to the end of a spectrum or of a second. Returned: how many.
static size_t push_some(DwTwinLevels *levels, const float *interleaved, size_t frames)
{
    size_t channels = levels->channels, second = (size_t)ceil(fmax(levels->rate_hz, 1)), count = frames;
    if (levels->frames == 0)
        begin_second(levels);
    count = levels->size - levels->filled < count ? levels->size - levels->filled : count;
    count = second - levels->frames < count ? second - levels->frames : count;
    for (size_t c = 0; c < channels; c++)
        for (size_t n = 0; n < count; n++)
            levels->block[c][levels->filled + n] = interleaved[n * channels + c];
    levels->filled += count;
    levels->frames += count;
    if (levels->filled == levels->size) {
        add_spectrum(levels);
        keep_half(levels);
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

// Of PART the share between LOW and HIGH, both in parts.
static double share_of(size_t part, double low, double high)
{
    return fmax(0, fmin((double)part + 1, high) - fmax((double)part, low));
}

void dw_twin_levels_finish(DwTwinLevels *levels, double pitch)
{
    double moved = 10 * PARTS * log10(pitch);
    free(levels->second);
    levels->second = dw_memory_new(levels->count + 1, sizeof *levels->second);
    for (size_t b = 0; b < DW_TWIN_THIRDS; b++) {
        double low = (double)(b * PARTS) + moved, high = low + PARTS;
        size_t first = (size_t)fmax(0, floor(low)), end = (size_t)fmin(ALL_PARTS, fmax(0, ceil(high)));
        for (size_t n = 0; n < levels->count; n++)
            for (size_t c = 0; c < 3; c++)
                for (size_t p = first; p < end; p++)
                    levels->second[n][c][b] += (float)share_of(p, low, high) * levels->part[n][c][p];
    }
}

unsigned dw_twin_levels_channels(const DwTwinLevels *levels)
{
    return levels->channels;
}

// --- comparing --------------------------------------------------------------------

static double power_in(const DwTwinLevels *levels, size_t second, size_t channel, size_t band)
{
    float(*power)[DW_TWIN_THIRDS] = levels->second[second];
    if (channel < 2 || levels->channels < 2)
        return power[channel < levels->channels ? channel : 0][band];
    double left = power[0][band], right = power[1][band];
    return channel == DW_TWIN_BOTH ? (left + right) / 2 : fmax(0, left + right + 2 * (double)power[2][band]) / 4;
}

double dw_twin_levels_power(const DwTwinLevels *levels, double at_s, size_t channel, size_t band)
{
    double at = at_s - 0.5;
    size_t n = at > 0 ? (size_t)at : 0;
    if (n + 1 >= levels->count)
        return 0;
    double share = fmax(0, at - (double)n);
    return (1 - share) * power_in(levels, n, channel, band) + share * power_in(levels, n + 1, channel, band);
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

// How levels of the one go along with the other's from place to place, summed up in decibels.
typedef struct {
    double a, b, aa, bb, ab, count;
} Along;

static void add_along(Along *along, double a, double b)
{
    along->a += a;
    along->b += b;
    along->aa += a * a;
    along->bb += b * b;
    along->ab += a * b;
    along->count++;
}

// −1 … 1.
static double correlation_of(const Along *along)
{
    double n = along->count, aa = along->aa - along->a * along->a / n, bb = along->bb - along->b * along->b / n;
    return aa > 0 && bb > 0 ? (along->ab - along->a * along->b / n) / sqrt(aa * bb) : 0;
}

// The second over the first in BAND of CHANNEL, in decibels: the median of the places that are loudest in both, less
// what either chain adds, as far as its quietest seconds tell. NAN without enough, or where the two do not go together.
static double compare_band(const DwTwinLevels *const two[2], const DwTwinPath *path, const size_t channel[2],
                           size_t band, float *room, double *off)
{
    double over = pow(10, NOISE_DB / 10);
    double floors[2] = {floor_of(two[0], channel[0], band, room), floor_of(two[1], channel[1], band, room)};
    for (size_t p = 0; p < path->count; p++)
        room[p] = (float)sqrt(dw_twin_levels_power(two[0], path->place[p].at_s, channel[0], band) *
                              dw_twin_levels_power(two[1], path->place[p].other_s, channel[1], band));
    double loud = path->count ? dw_statistics_quantile(room, path->count, LOUDEST) : 0;
    size_t kept = 0;
    Along along = {0};
    for (size_t p = 0; p < path->count; p++) {
        double a = dw_twin_levels_power(two[0], path->place[p].at_s, channel[0], band);
        double b = dw_twin_levels_power(two[1], path->place[p].other_s, channel[1], band);
        if (a > 0 && b > 0 && path->place[p].likeness > LIKENESS)
            add_along(&along, 10 * log10(a), 10 * log10(b));
        if (sqrt(a * b) >= loud && a > over * floors[0] && b > over * floors[1] && path->place[p].likeness > LIKENESS)
            room[kept++] = (float)(10 * log10((b - floors[1]) / (a - floors[0])));
    }
    *off = NAN;
    if (kept < PLACES_LEAST || correlation_of(&along) < TOGETHER)
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
    which[0] = channels == 2 ? channel : DW_TWIN_MONO;
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
            levelling->response_db[c][b] =
                levelling->off_db[c][b] < VAGUE_DB ? levelling->response_db[c][b] - levelling->level_db : NAN;
    return isfinite(levelling->level_db);
}
