// SPDX-License-Identifier: MIT
#include "chart/pennant.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

static double left_of(const DwPennant *pennant)
{
    return pennant->to_left ? pennant->x - pennant->width : pennant->x;
}

static double right_of(const DwPennant *pennant)
{
    return pennant->to_left ? pennant->x : pennant->x + pennant->width;
}

static bool covers(const DwPennant *pennant, double x, double gap)
{
    return x > left_of(pennant) - gap && x < right_of(pennant) + gap;
}

// Whether A and B get in each other's way: side by side in one lane, or the
// higher one's stem through the lower one.
static bool clash(const DwPennant *a, const DwPennant *b, double gap)
{
    if (a->lane == b->lane)
        return left_of(a) < right_of(b) + gap && left_of(b) < right_of(a) + gap;
    return a->lane > b->lane ? covers(b, a->x, gap / 2) : covers(a, b->x, gap / 2);
}

static bool fits(const DwPennant *pennants, size_t index, double left, double right, double gap)
{
    const DwPennant *pennant = &pennants[index];
    if (left_of(pennant) < left || right_of(pennant) > right)
        return false;
    for (size_t i = 0; i < index; i++)
        if (pennants[i].placed && clash(&pennants[i], pennant, gap))
            return false;
    return true;
}

void dw_pennant_place(DwPennant *pennants, size_t count, double left, double right, size_t lanes, double gap)
{
    for (size_t i = 0; i < count; i++) {
        DwPennant *pennant = &pennants[i];
        pennant->placed = false;
        for (size_t try = 0; try < 2 * lanes && !pennant->placed; try++) {
            pennant->lane = try / 2;
            pennant->to_left = try % 2 == 1;
            pennant->placed = fits(pennants, i, left, right, gap);
        }
    }
}

static int by_height(const void *a, const void *b)
{
    double first = **(double *const *)a, second = **(double *const *)b;
    if (first == second) // equal heights keep their order
        return (*(double *const *)a > *(double *const *)b) - (*(double *const *)a < *(double *const *)b);
    return first < second ? -1 : 1;
}

// Pushes each up from the one before it, then the stack back down from HIGH:
// half a dozen labels need no better.
void dw_pennant_spread(double *heights, size_t count, double gap, double low, double high)
{
    double **order = dw_memory_new(count + 1, sizeof *order);
    for (size_t i = 0; i < count; i++)
        order[i] = &heights[i];
    qsort(order, count, sizeof *order, by_height);
    for (size_t i = 0; i < count; i++)
        *order[i] = fmax(*order[i], i == 0 ? low : *order[i - 1] + gap);
    for (size_t i = count; i-- > 0;)
        *order[i] = fmin(*order[i], i + 1 == count ? high : *order[i + 1] - gap);
    if (count > 0 && *order[0] < low - 1e-9)
        for (size_t i = 0; i < count; i++)
            *order[i] = low + (double)i * gap;
    free(order);
}
