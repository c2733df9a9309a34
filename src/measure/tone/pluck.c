// SPDX-License-Identifier: MIT
#include "measure/tone/pluck.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

enum { RATE_HZ = 4000, PLUCKS_MOST = 64 };

static const double KEEP_S = 120;
static const double LOWEST_HZ = 8, HIGHEST_HZ = 500;
static const double BLOCK_S = 0.02, AFTER_S = 0.02, LISTEN_S = 0.6, APART_S = 0.7;
static const double LOUD = 0.1;               // of the loudest block's effective value: a pluck
static const double RISE = 3;                 // times the block before
static const double LEVEL_S = 0.15, DEAD = 2; // over which a level is taken; times the level before, where it ends
static const double SLOWEST_S = 1;            // time constant: what dies more slowly is no pluck
static const double ALIKE = 0.6;              // correlation: below it nothing repeats itself
static const double FIRST = 0.85;             // of the best: an earlier lag that is as good as this is the period
static const double LEAST_SHARE = 0.01;

struct DwPluck {
    unsigned channels;
    size_t every; // samples that make one of ours
    double rate_hz;
    double sum;
    size_t summed;
    float *samples;
    size_t count, room;
};

DwPluck *dw_pluck_new(double rate_hz, unsigned channels)
{
    DwPluck *pluck = dw_memory_new(1, sizeof *pluck);
    pluck->channels = channels ? channels : 1;
    pluck->every = (size_t)fmax(1, floor(rate_hz / RATE_HZ));
    pluck->rate_hz = rate_hz / (double)pluck->every;
    return pluck;
}

void dw_pluck_free(DwPluck *pluck)
{
    if (!pluck)
        return;
    free(pluck->samples);
    free(pluck);
}

void dw_pluck_push(DwPluck *pluck, const float *interleaved, size_t frames)
{
    for (size_t i = 0; i < frames && (double)pluck->count < KEEP_S * pluck->rate_hz; i++) {
        for (unsigned c = 0; c < pluck->channels; c++)
            pluck->sum += (double)interleaved[i * pluck->channels + c];
        if (++pluck->summed < pluck->every)
            continue;
        if (pluck->count == pluck->room) {
            pluck->room = 2 * pluck->room + 4096;
            pluck->samples = dw_memory_resize(pluck->samples, pluck->room, sizeof *pluck->samples);
        }
        double mean = pluck->sum / (double)(pluck->every * pluck->channels);
        pluck->samples[pluck->count++] = (float)(isfinite(mean) ? mean : 0);
        pluck->sum = 0;
        pluck->summed = 0;
    }
}

static double effective(const float *x, size_t count)
{
    double sum = 0, squares = 0;
    for (size_t i = 0; i < count; i++) {
        sum += (double)x[i];
        squares += (double)x[i] * (double)x[i];
    }
    double n = (double)count;
    return sqrt(fmax(0, squares / n - sum * sum / n / n));
}

// How alike X is to itself LAG later, 1 at best.
static double alike(const float *x, size_t count, size_t lag)
{
    double product = 0, here = 0, there = 0;
    for (size_t i = 0; i + lag < count; i++) {
        product += (double)x[i] * (double)x[i + lag];
        here += (double)x[i] * (double)x[i];
        there += (double)x[i + lag] * (double)x[i + lag];
    }
    return here > 0 && there > 0 ? product / sqrt(here * there) : 0;
}

// The rate at which HEARD repeats itself; NAN where it does not.
static double rate_of(const float *heard, size_t count, double rate_hz)
{
    float *x = dw_memory_new(count, sizeof *x);
    double mean = 0;
    for (size_t i = 0; i < count; i++)
        mean += (double)heard[i] / (double)count;
    for (size_t i = 0; i < count; i++)
        x[i] = heard[i] - (float)mean;
    size_t shortest = (size_t)(rate_hz / HIGHEST_HZ), longest = (size_t)fmin(rate_hz / LOWEST_HZ, (double)count / 2);
    double *likeness = dw_memory_new(longest + 2, sizeof *likeness), best = 0;
    size_t lag = 0;
    for (size_t k = shortest; k <= longest + 1; k++)
        likeness[k] = alike(x, count, k);
    for (size_t k = shortest + 1; k <= longest; k++) // the slope down from no lag at all is no peak
        if (likeness[k] > likeness[k - 1] && likeness[k] >= likeness[k + 1])
            best = fmax(best, likeness[k]);
    for (size_t k = shortest + 1; k <= longest && !lag && best > ALIKE; k++)
        if (likeness[k] > likeness[k - 1] && likeness[k] >= likeness[k + 1] && likeness[k] >= FIRST * best)
            lag = k;
    double rate = NAN;
    if (lag) { // the top of the parabola through three values
        double before = likeness[lag - 1], here = likeness[lag], after = likeness[lag + 1];
        double bend = before - 2 * here + after;
        rate = rate_hz / ((double)lag + (bend < 0 ? (before - after) / (2 * bend) : 0));
    }
    free(likeness);
    free(x);
    return rate;
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

// How much of LENGTH rings on above what was heard BEFORE; 0 where it does not die away, as a hum or a test tone does.
static size_t ringing(const float *x, size_t length, double rate_hz, double before)
{
    size_t level = (size_t)(LEVEL_S * rate_hz), ends = level;
    if (length < 2 * level)
        return 0;
    while (ends + level <= length && effective(x + ends, level) > DEAD * before)
        ends += level / 4;
    ends = ends + level <= length ? ends : length;
    double late = effective(x + length - level, level), passed_s = (double)(length - level) / rate_hz;
    return late < effective(x, level) * exp(-passed_s / SLOWEST_S) ? ends : 0;
}

// The rates of all plucks: where it gets loud at once and dies away.
static size_t list_rates(const DwPluck *pluck, double rates[PLUCKS_MOST])
{
    size_t block = (size_t)(BLOCK_S * pluck->rate_hz), blocks = pluck->count / block, count = 0;
    double loudest = 0, before = INFINITY, last_s = -APART_S; // what sounds from the first block on began nowhere
    for (size_t b = 0; b < blocks; b++)
        loudest = fmax(loudest, effective(pluck->samples + b * block, block));
    for (size_t b = 0; b < blocks && count < PLUCKS_MOST; b++) {
        double here = effective(pluck->samples + b * block, block), at_s = (double)b * BLOCK_S;
        bool begins = here > LOUD * loudest && here > RISE * before && at_s - last_s >= APART_S;
        double background = before;
        before = here;
        if (!begins)
            continue;
        last_s = at_s;
        size_t from = (b + 1) * block + (size_t)(AFTER_S * pluck->rate_hz);
        size_t most = (size_t)(LISTEN_S * pluck->rate_hz);
        size_t length = from < pluck->count ? pluck->count - from : 0;
        length = ringing(pluck->samples + from, length < most ? length : most, pluck->rate_hz, background);
        double rate = length ? rate_of(pluck->samples + from, length, pluck->rate_hz) : NAN;
        if (isfinite(rate))
            rates[count++] = rate;
    }
    return count;
}

bool dw_pluck_read(const DwPluck *pluck, DwPluckReading *reading)
{
    double rates[PLUCKS_MOST], spread = 0;
    size_t count = list_rates(pluck, rates);
    if (!count)
        return false;
    qsort(rates, count, sizeof *rates, ascending);
    double middle = (rates[(count - 1) / 2] + rates[count / 2]) / 2;
    for (size_t i = 0; i < count; i++)
        spread += (rates[i] - middle) * (rates[i] - middle);
    double scatter = count > 2 ? 2 * sqrt(spread / (double)(count - 1) / (double)count) : 0.02 * middle;
    *reading = (DwPluckReading){middle, fmax(LEAST_SHARE * middle, scatter), count};
    return true;
}
