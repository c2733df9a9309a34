// SPDX-License-Identifier: MIT
#include "dsp/statistics.h"

#include "base/memory.h"
#include "base/wide.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_sf_bessel.h>
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>
#include <gsl/gsl_statistics_float.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { CELLS_MOST = 4096, EACH = 16, MANY = 256 };

double dw_statistics_middle(double *values, size_t count)
{
    gsl_sort(values, 1, count);
    return count ? values[count / 2] : NAN;
}

static size_t cell_of(float value, float low, float scale, size_t cells)
{
    float place = (value - low) * scale;
    return place < (float)cells ? (size_t)place : cells - 1;
}

// The smallest and the largest of COUNT VALUES.
DW_WIDE static void find_ends(const float *values, size_t count, float *low, float *high)
{
    float lows[EACH], highs[EACH];
    for (size_t i = 0; i < EACH; i++) {
        lows[i] = INFINITY;
        highs[i] = -INFINITY;
    }
    size_t whole = count / EACH * EACH;
    for (size_t n = 0; n < whole; n += EACH)
        for (size_t i = 0; i < EACH; i++) {
            lows[i] = values[n + i] < lows[i] ? values[n + i] : lows[i];
            highs[i] = values[n + i] > highs[i] ? values[n + i] : highs[i];
        }
    for (size_t n = whole; n < count; n++) {
        lows[0] = values[n] < lows[0] ? values[n] : lows[0];
        highs[0] = values[n] > highs[0] ? values[n] : highs[0];
    }
    *low = lows[0];
    *high = highs[0];
    for (size_t i = 1; i < EACH; i++) {
        *low = lows[i] < *low ? lows[i] : *low;
        *high = highs[i] > *high ? highs[i] : *high;
    }
}

// Brings those of many VALUES to the front among which the RANKth and the next are, by counting them in cells of
// like values. Returned: how many; *RANK counts among them.
static size_t gather(float *values, size_t count, size_t *rank)
{
    float low, high;
    find_ends(values, count, &low, &high);
    size_t most = count / EACH < CELLS_MOST ? count / EACH : CELLS_MOST;
    float scale = (float)most / (high - low);
    if (!isfinite(scale) || !(scale > 0))
        return count;
    uint32_t cells[CELLS_MOST];
    memset(cells, 0, most * sizeof *cells);
    for (size_t i = 0; i < count; i++)
        cells[cell_of(values[i], low, scale, most)]++;
    size_t first = 0, below = 0, there = cells[0];
    while (below + there <= *rank) {
        below += there;
        there = cells[++first];
    }
    size_t last = first;
    while (below + there <= *rank + 1 && last + 1 < most)
        there += cells[++last];
    size_t kept = 0;
    for (size_t i = 0; i < count; i++) {
        size_t cell = cell_of(values[i], low, scale, most);
        if (cell < first || cell > last)
            continue;
        float value = values[i];
        values[i] = values[kept];
        values[kept++] = value;
    }
    *rank -= below;
    return kept;
}

double dw_statistics_quantile(float *values, size_t count, double share)
{
    if (count == 0)
        return NAN;
    double place = share * (double)(count - 1);
    size_t rank = (size_t)place;
    place -= (double)rank;
    if (count >= MANY)
        count = gather(values, count, &rank);
    double low = gsl_stats_float_select(values, 1, count, rank), high = low;
    if (rank + 1 < count) { // the selection has moved all larger values behind the rank
        high = values[rank + 1];
        for (size_t i = rank + 2; i < count; i++)
            high = fmin(high, (double)values[i]);
    }
    return low + place * (high - low);
}

enum { POINTS = 4, REACH = 4, BINS = 16384 };

// Weights of the samples around that give the value at I/4 between two of them:
// a windowed sinc, scaled to pass a steady value.
static void interpolator(size_t i, double weights[2 * REACH])
{
    double sum = 0;
    for (int k = 0; k < 2 * REACH; k++) {
        double t = (double)(k - REACH + 1) - (double)i / POINTS, x = M_PI * t;
        double place = t / (REACH + 0.25), window = gsl_sf_bessel_I0(5.5 * sqrt(1 - place * place));
        weights[k] = window * (t == 0 ? 1 : sin(x) / x);
        sum += weights[k];
    }
    for (int k = 0; k < 2 * REACH; k++)
        weights[k] /= sum;
}

// Values between samples, COUNT of them at one place within the step, from the
// samples around; the loop runs along the signal and vectorises.
DW_WIDE static void interpolate(const double *around, const double weights[2 * REACH], double *restrict values,
                                size_t count)
{
    for (size_t n = 0; n < count; n++)
        values[n] = weights[0] * around[n];
    for (size_t k = 1; k < 2 * REACH; k++)
        for (size_t n = 0; n < count; n++)
            values[n] += weights[k] * around[n + k];
}

// A histogram of magnitudes.
typedef struct {
    uint32_t *bins;
    double scale; // bins a unit
    double sum;
    size_t total;
} Histogram;

enum { PIECE = 512, AROUND_PIECE = PIECE + 2 * REACH };

// The bin of each of VALUES; the loop runs along the signal and vectorises. Returned: the sum of their magnitudes.
DW_WIDE static double find_bins(const double *restrict values, size_t count, double scale, int32_t *restrict bin)
{
    enum { LANES = 8 };
    double lane[LANES] = {0}, sum = 0;
    size_t n = 0;
    for (; n + LANES <= count; n += LANES)
        for (size_t i = 0; i < LANES; i++) {
            double magnitude = fabs(values[n + i]), place = magnitude * scale;
            bin[n + i] = (int32_t)(place < BINS - 1 ? place : BINS - 1);
            lane[i] += magnitude;
        }
    for (; n < count; n++) {
        double magnitude = fabs(values[n]), place = magnitude * scale;
        bin[n] = (int32_t)(place < BINS - 1 ? place : BINS - 1);
        sum += magnitude;
    }
    for (size_t i = 0; i < LANES; i++)
        sum += lane[i];
    return sum;
}

// COUNT values, PIECE at most. USED (NULL: all are) holds one more.
static void count_magnitudes(Histogram *histogram, const double *values, const unsigned char *used, size_t count)
{
    int32_t bin[PIECE];
    if (!used || !memchr(used, 0, count + 1)) {
        histogram->sum += find_bins(values, count, histogram->scale, bin);
        histogram->total += count;
        for (size_t n = 0; n < count; n++)
            histogram->bins[bin[n]]++;
        return;
    }
    for (size_t n = 0; n < count; n++) {
        if (!(used[n] && used[n + 1]))
            continue;
        histogram->sum += find_bins(values + n, 1, histogram->scale, bin);
        histogram->bins[bin[0]]++;
        histogram->total++;
    }
}

static double histogram_quantile(const Histogram *histogram, double share)
{
    double wanted = share * (double)histogram->total, below = 0;
    for (size_t b = 0; histogram->total > 0 && b < BINS; b++) {
        double here = histogram->bins[b];
        if (here > 0 && below + here >= wanted)
            return histogram->scale > 0 ? ((double)b + (wanted - below) / here) / histogram->scale : 0;
        below += here;
    }
    return NAN;
}

// A signal as it is kept, in either width.
typedef struct {
    const double *wide;
    const float *narrow;
} Signal;

// COUNT samples of SIGNAL from FROM on, in ROOM where they have to be widened.
static const double *piece_of(const Signal *signal, size_t from, size_t count, double room[AROUND_PIECE])
{
    if (signal->wide)
        return signal->wide + from;
    for (size_t n = 0; n < count; n++)
        room[n] = (double)signal->narrow[from + n];
    return room;
}

static double top_of(const Signal *signal, const unsigned char *used, size_t count)
{
    double room[AROUND_PIECE], top = 0;
    for (size_t start = 0; start < count; start += PIECE) {
        size_t piece = count - start < PIECE ? count - start : PIECE;
        const double *samples = piece_of(signal, start, piece, room);
        for (size_t n = 0; n < piece; n++)
            if (!used || used[start + n])
                top = fabs(samples[n]) > top ? fabs(samples[n]) : top;
    }
    return top;
}

static DwMagnitude magnitude_of(const Signal *signal, const unsigned char *used, size_t count, double share)
{
    double weights[POINTS][2 * REACH], values[PIECE], room[AROUND_PIECE], top = top_of(signal, used, count);
    for (size_t i = 1; i < POINTS; i++)
        interpolator(i, weights[i]);
    Histogram histogram = {.bins = dw_memory_new(BINS, sizeof(uint32_t)),
                           .scale = top > 0 ? BINS / (1.5 * top) : 0}; // between samples it may be higher
    for (size_t start = REACH; start + REACH < count; start += PIECE) {
        size_t left = count - REACH - start, piece = left < PIECE ? left : PIECE;
        const unsigned char *here = used ? used + start : NULL;
        const double *around = piece_of(signal, start + 1 - REACH, piece + 2 * REACH - 1, room);
        count_magnitudes(&histogram, around + REACH - 1, here, piece);
        for (size_t i = 1; i < POINTS; i++) {
            interpolate(around, weights[i], values, piece);
            count_magnitudes(&histogram, values, here, piece);
        }
    }
    DwMagnitude result = {histogram_quantile(&histogram, share),
                          histogram.total ? histogram.sum / (double)histogram.total : NAN};
    free(histogram.bins);
    return result;
}

DwMagnitude dw_statistics_magnitude(const double *samples, const unsigned char *used, size_t count, double share)
{
    return magnitude_of(&(Signal){.wide = samples}, used, count, share);
}

DwMagnitude dw_statistics_magnitude_narrow(const float *samples, const unsigned char *used, size_t count, double share)
{
    return magnitude_of(&(Signal){.narrow = samples}, used, count, share);
}

// Of VALUES or, where that is NULL, of NARROW.
static double mean_used(const double *values, const float *narrow, const unsigned char *used, size_t count,
                        size_t *kept)
{
    double sum = 0;
    *kept = 0;
    for (size_t n = 0; n < count; n++)
        if (used[n]) {
            sum += values ? values[n] : (double)narrow[n];
            ++*kept;
        }
    return *kept ? sum / (double)*kept : NAN;
}

double dw_statistics_mean_used(const double *values, const unsigned char *used, size_t count, size_t *kept)
{
    return mean_used(values, NULL, used, count, kept);
}

double dw_statistics_mean_used_narrow(const float *values, const unsigned char *used, size_t count, size_t *kept)
{
    return mean_used(NULL, values, used, count, kept);
}

double dw_statistics_mean(const double *values, size_t count)
{
    return count ? gsl_stats_mean(values, 1, count) : NAN;
}

double dw_statistics_deviation(const double *values, size_t count)
{
    return count > 1 ? gsl_stats_sd(values, 1, count) : NAN;
}

double dw_statistics_mean_uncertainty(const double *values, size_t count)
{
    if (count < 2)
        return NAN;
    return gsl_cdf_tdist_Pinv(0.975, (double)count - 1) * gsl_stats_sd(values, 1, count) / sqrt((double)count);
}
