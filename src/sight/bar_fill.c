// SPDX-License-Identifier: MIT
#include "sight/bar_pieces.h"

#include "base/memory.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>

static const double least_fill = 6;   // of 255
static const double beyond_noise = 3; // of what is usually filled

// Of each of COUNT values the largest within HALF places of it, or the smallest where SIGN is −1.
static void spread(const double *from, int count, int half, double sign, double *to)
{
    for (int i = 0; i < count; i++) {
        double most = -INFINITY;
        for (int k = i - half < 0 ? 0 : i - half; k <= i + half && k < count; k++)
            most = fmax(most, sign * from[k]);
        to[i] = sign * most;
    }
}

// The column AT of VALUES, closed.
static void close_column(const double *values, int rows, int columns, int at, int half, double *closed)
{
    double *column = dw_memory_new((size_t)rows, sizeof *column), *wide = dw_memory_new((size_t)rows, sizeof *wide);
    for (int i = 0; i < rows; i++)
        column[i] = values[i * columns + at];
    spread(column, rows, half, 1, wide);
    spread(wide, rows, half, -1, column);
    for (int i = 0; i < rows; i++)
        closed[i * columns + at] = column[i];
    free(column);
    free(wide);
}

// The mean of the nine values about each: noise shall not look like lines.
static void smooth(const double *from, int rows, int columns, double *to)
{
    for (int i = 0; i < rows; i++)
        for (int k = 0; k < columns; k++) {
            double sum = 0;
            int count = 0;
            for (int v = i > 0 ? i - 1 : 0; v <= i + 1 && v < rows; v++)
                for (int u = k > 0 ? k - 1 : 0; u <= k + 1 && u < columns; u++, count++)
                    sum += from[v * columns + u];
            to[i * columns + k] = sum / count;
        }
}

// What the closing usually adds: that of noise, lines being few.
static double usual_fill(const double *even, const double *closed, size_t count)
{
    double *fills = dw_memory_new(count, sizeof *fills);
    for (size_t i = 0; i < count; i++)
        fills[i] = closed[i] - even[i];
    double usual = dw_statistics_middle(fills, count);
    free(fills);
    return usual;
}

void dw_bar_fill(double *brightness, double *light, int rows, int columns, int window, bool *filled)
{
    size_t count = (size_t)rows * (size_t)columns;
    double *even = dw_memory_new(count, sizeof *even), *closed = dw_memory_new(count, sizeof *closed),
           *bright = dw_memory_new(count, sizeof *bright);
    smooth(brightness, rows, columns, even);
    for (int k = 0; k < columns; k++)
        close_column(even, rows, columns, k, window / 2, closed);
    double least = fmax(least_fill, beyond_noise * usual_fill(even, closed, count));
    smooth(light, rows, columns, bright);
    for (int k = 0; k < columns; k++)
        close_column(bright, rows, columns, k, window / 2, bright);
    for (size_t i = 0; i < count; i++)
        if (closed[i] - even[i] > least) {
            brightness[i] = closed[i];
            light[i] = bright[i];
            filled[i] = true;
        }
    free(even);
    free(closed);
    free(bright);
}
