// SPDX-License-Identifier: MIT
#include "chart/draw/rhythm.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

enum { STEPS_MOST = 1024, STEPS_LEAST = 16, COLUMNS_MOST = 72, OVERSAMPLING = 4 };

// Averages the points into at most STEPS_MOST blocks without a gap in them.
static size_t average(const double *x, const double *y, size_t count, double *times, double *values)
{
    size_t block = (count + STEPS_MOST - 1) / STEPS_MOST;
    size_t kept = 0;
    for (size_t start = 0; start < count; start += block) {
        double time = 0, value = 0;
        size_t used = 0;
        for (size_t i = start; i < start + block && i < count; i++) {
            if (!isfinite(y[i]) || !isfinite(x[i]) || fabs(y[i]) > 1e100)
                continue;
            time += x[i];
            value += y[i];
            used++;
        }
        if (used == 0)
            continue;
        times[kept] = time / (double)used;
        values[kept++] = value / (double)used;
    }
    return kept;
}

// Takes the least-squares line away. Returned: the sum of squares that stays.
static double detrend(const double *times, double *values, size_t count)
{
    double mean_time = 0, mean_value = 0, across = 0, along = 0, left = 0;
    for (size_t i = 0; i < count; i++) {
        mean_time += times[i] / (double)count;
        mean_value += values[i] / (double)count;
    }
    for (size_t i = 0; i < count; i++) {
        across += (times[i] - mean_time) * (values[i] - mean_value);
        along += (times[i] - mean_time) * (times[i] - mean_time);
    }
    for (size_t i = 0; i < count; i++) {
        values[i] -= mean_value + (along > 0 ? across / along * (times[i] - mean_time) : 0);
        left += values[i] * values[i];
    }
    return left;
}

static double power_at(double frequency, const double *times, const double *values, size_t count)
{
    double cosine = 0, sine = 0;
    for (size_t i = 0; i < count; i++) {
        double phase = 2 * M_PI * frequency * (times[i] - times[0]);
        cosine += values[i] * cos(phase);
        sine += values[i] * sin(phase);
    }
    return 2 * (cosine * cosine + sine * sine) / (double)count;
}

static double strongest(const double *times, const double *values, size_t count, double *power)
{
    double length = times[count - 1] - times[0];
    double step = 1 / (OVERSAMPLING * length);
    double best = NAN;
    *power = 0;
    for (size_t k = 3 * OVERSAMPLING; k <= count * OVERSAMPLING / 4; k++) {
        double here = power_at((double)k * step, times, values, count);
        if (here > *power) {
            *power = here;
            best = (double)k * step;
        }
    }
    if (isnan(best))
        return NAN;
    // The top of the parabola through the best step and its neighbours.
    double before = power_at(best - step, times, values, count);
    double after = power_at(best + step, times, values, count);
    double bend = before - 2 * *power + after;
    return bend < 0 ? best + 0.5 * step * (before - after) / bend : best;
}

double dw_rhythm_period(const double *x, const double *y, size_t count, double *share)
{
    *share = 0;
    double *times = dw_memory_new(STEPS_MOST + 1, sizeof *times);
    double *values = dw_memory_new(STEPS_MOST + 1, sizeof *values);
    size_t kept = count > 0 ? average(x, y, count, times, values) : 0;
    double period = NAN;
    if (kept >= STEPS_LEAST && times[kept - 1] > times[0]) {
        double spread = detrend(times, values, kept);
        double power = 0;
        if (spread > 0)
            period = 1 / strongest(times, values, kept, &power);
        *share = isnan(period) ? 0 : power / spread;
    }
    free(times);
    free(values);
    return period;
}

// The rows one after another, each averaged to COLUMNS values; gaps are NAN.
static void fold(const DwRaster *raster, double *folded, size_t columns)
{
    for (size_t r = 0; r < raster->rows; r++)
        for (size_t i = 0; i < columns; i++) {
            size_t from = i * raster->columns / columns, to = (i + 1) * raster->columns / columns;
            double sum = 0;
            size_t used = 0;
            for (size_t j = from; j < to; j++) {
                float value = raster->values[r * raster->columns + j];
                if (isfinite(value)) {
                    sum += value;
                    used++;
                }
            }
            folded[r * columns + i] = used > 0 ? sum / (double)used : NAN;
        }
}

// FOLDED less its mean over a turn before and a turn after, so that drift does
// not pass for a pattern; gaps become zero.
static void level(const double *folded, double *levelled, size_t count, size_t columns)
{
    double sum = 0;
    size_t used = 0, next = 0;
    for (size_t i = 0; i < count; i++) {
        for (; next < count && next <= i + columns; next++)
            if (isfinite(folded[next])) {
                sum += folded[next];
                used++;
            }
        if (i > columns && isfinite(folded[i - columns - 1])) {
            sum -= folded[i - columns - 1];
            used--;
        }
        levelled[i] = isfinite(folded[i]) ? folded[i] - sum / (double)used : 0;
    }
}

// The correlation of the series with itself LAG later.
static double likeness_of(const double *series, size_t count, size_t lag)
{
    double product = 0, first = 0, second = 0;
    for (size_t i = 0; i + lag < count; i++) {
        product += series[i] * series[i + lag];
        first += series[i] * series[i];
        second += series[i + lag] * series[i + lag];
    }
    return first > 0 && second > 0 ? product / sqrt(first * second) : 0;
}

// A pattern of several periods a row fits at several moves about as well: of the
// local best ones nearly as good as the best, the smallest is meant.
// LIKENESSES are those of the moves from HALF to the left to HALF to the right.
static double smallest_good_shift(const double *likenesses, size_t half, double *likeness)
{
    for (size_t i = 0; i <= 2 * half; i++)
        *likeness = fmax(*likeness, likenesses[i]);
    for (size_t i = 0; i < 2 * half; i++) {
        size_t at = i % 2 ? half + (i + 1) / 2 : half - i / 2;
        bool is_top =
            at > 0 && at < 2 * half && likenesses[at] >= likenesses[at - 1] && likenesses[at] >= likenesses[at + 1];
        if (is_top && likenesses[at] >= *likeness - 0.05)
            return (double)at - (double)half;
    }
    *likeness = 0; // the best is at an end: no move can be told
    return 0;
}

// The mean of every STRIDEth value of SERIES from FIRST on, gaps left out; 0 when all are.
static double mean_of(const double *series, size_t first, size_t count, size_t stride)
{
    double sum = 0;
    size_t used = 0;
    for (size_t i = first; i < count; i += stride)
        if (isfinite(series[i])) {
            sum += series[i];
            used++;
        }
    return used > 0 ? sum / (double)used : 0;
}

// The share of the variance of SERIES that its mean row explains; the mean row
// is taken out where it is more than chance.
static double take_upright(double *series, size_t rows, size_t columns)
{
    double total = 0, standing = 0, means[COLUMNS_MOST];
    size_t count = rows * columns;
    double middle = mean_of(series, 0, count, 1);
    for (size_t c = 0; c < columns; c++)
        means[c] = mean_of(series, c, count, columns) - middle;
    for (size_t i = 0; i < count; i++) {
        if (!isfinite(series[i]))
            continue;
        total += (series[i] - middle) * (series[i] - middle);
        standing += means[i % columns] * means[i % columns];
    }
    double share = total > 0 ? standing / total : 0;
    if (share > 3.0 / (double)rows)
        for (size_t i = 0; i < count; i++)
            series[i] -= means[i % columns];
    return share;
}

DwRowPattern dw_rhythm_rows(const DwRaster *raster)
{
    DwRowPattern pattern = {0};
    size_t columns = raster->columns < COLUMNS_MOST ? raster->columns : COLUMNS_MOST;
    if (raster->rows < 3 || columns < 4)
        return pattern;
    size_t count = raster->rows * columns;
    double *folded = dw_memory_new(count, sizeof *folded), *levelled = dw_memory_new(count, sizeof *levelled);
    fold(raster, folded, columns);
    pattern.upright = take_upright(folded, raster->rows, columns);
    level(folded, levelled, count, columns);
    // A row follows on the one before, so a move is a lag of a turn and that much;
    // a move of half a turn either way is the last that can be told.
    double likenesses[COLUMNS_MOST + 2];
    size_t half = columns / 2;
    for (size_t i = 0; i <= 2 * half; i++)
        likenesses[i] = likeness_of(levelled, count, columns - half + i);
    free(folded);
    free(levelled);
    pattern.shift = smallest_good_shift(likenesses, half, &pattern.likeness);
    pattern.shift *= (double)raster->columns / (double)columns;
    return pattern;
}
