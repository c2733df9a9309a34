// SPDX-License-Identifier: MIT
#include "measure/band/noise_ticks.h"

#include "dsp/statistics.h"

#include <math.h>
#include <stdbool.h>

static const double THRESHOLD = 8;          // robust standard deviations
static const double SAME_S = 0.004;         // closer hits are one tick
static const double BEFORE_S = 0.0005;      // spoilt before the first hit
static const double TAIL_S = 0.0146;        // 3180 µs down to a hundredth
static const double BRIDGE_MEAN_S = 0.0015; // taken on either side
static const double TO_DEVIATION = 1.4826;  // of a Gaussian, from the median of magnitudes
enum { LOOKED_AT = 8192 };

// Whitens the falling spectrum of a groove's noise; hum and rumble go.
static double second_difference(const double *x, size_t n)
{
    return x[n - 1] - 2 * x[n] + x[n + 1];
}

static double spread(const double *x, size_t count)
{
    float magnitudes[LOOKED_AT];
    size_t taken = 0, step = (count - 2) / LOOKED_AT + 1;
    for (size_t n = 1; n + 1 < count && taken < LOOKED_AT; n += step)
        magnitudes[taken++] = (float)fabs(second_difference(x, n));
    return taken ? TO_DEVIATION * dw_statistics_quantile(magnitudes, taken, 0.5) : 0;
}

// Ends the tick whose last hit is at LAST.
static void close_tick(DwTick *tick, size_t last, size_t count, double rate_hz)
{
    size_t to = last + (size_t)(TAIL_S * rate_hz) + 1;
    tick->to = to < count ? to : count;
}

size_t dw_ticks_find(const double *const *samples, unsigned channels, size_t count, double rate_hz,
                     DwTick ticks[DW_TICKS_MOST])
{
    if (count < 3)
        return 0;
    double limit[2] = {0, 0};
    for (unsigned c = 0; c < channels; c++)
        limit[c] = THRESHOLD * spread(samples[c], count);
    size_t found = 0, last = 0, before = (size_t)(BEFORE_S * rate_hz) + 1;
    for (size_t n = 1; n + 1 < count; n++) {
        bool hit = false;
        for (unsigned c = 0; c < channels; c++)
            hit |= limit[c] > 0 && fabs(second_difference(samples[c], n)) > limit[c];
        if (!hit)
            continue;
        bool same = found && (double)(n - last) < SAME_S * rate_hz;
        if (!same && found == DW_TICKS_MOST)
            break;
        if (!same) {
            if (found)
                close_tick(&ticks[found - 1], last, n, rate_hz);
            ticks[found++].from = n > before ? n - before : 0;
        }
        last = n;
    }
    if (found)
        close_tick(&ticks[found - 1], last, count, rate_hz);
    for (size_t i = 1; i < found; i++)
        if (ticks[i - 1].to >= ticks[i].from)
            ticks[i - 1].to = ticks[i].from;
    return found;
}

static double mean_of(const double *samples, size_t from, size_t to)
{
    return to > from ? dw_statistics_mean(samples + from, to - from) : NAN;
}

void dw_ticks_bridge(double *samples, size_t count, double rate_hz, const DwTick *ticks, size_t tick_count)
{
    size_t width = (size_t)(BRIDGE_MEAN_S * rate_hz) + 1;
    for (size_t i = 0; i < tick_count;) {
        size_t from = ticks[i].from, to = ticks[i].to;
        while (++i < tick_count && ticks[i].from <= to + width) // too close for a mean between them
            to = ticks[i].to;
        double before = mean_of(samples, from > width ? from - width : 0, from);
        double after = mean_of(samples, to, to + width < count ? to + width : count);
        before = isnan(before) ? after : before;
        after = isnan(after) ? before : after;
        if (isnan(before))
            continue;
        for (size_t n = from; n < to; n++)
            samples[n] = before + (after - before) * (double)(n - from + 1) / (double)(to - from + 1);
    }
}

double dw_ticks_share(const DwTick *ticks, size_t tick_count, size_t count)
{
    size_t spoilt = 0;
    for (size_t i = 0; i < tick_count; i++)
        spoilt += ticks[i].to - ticks[i].from;
    return count ? (double)spoilt / (double)count : 0;
}
