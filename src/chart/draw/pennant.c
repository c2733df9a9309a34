// SPDX-License-Identifier: MIT
#include "chart/draw/pennant.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

// More labels than this would be a thicket.
enum { CHOSEN_MOST = 16 };

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

static bool fits(const DwPennant *pennants, size_t count, const DwPennant *pennant, double left, double right,
                 double gap)
{
    if (left_of(pennant) < left || right_of(pennant) > right)
        return false;
    for (size_t i = 0; i < count; i++)
        if (&pennants[i] != pennant && pennants[i].placed && clash(&pennants[i], pennant, gap))
            return false;
    return true;
}

static bool place_one(DwPennant *pennants, size_t count, DwPennant *pennant, double left, double right, size_t lanes,
                      bool left_high, double gap)
{
    for (size_t try = 0; try < 2 * lanes; try++) {
        pennant->to_left = try >= lanes;
        pennant->lane = pennant->to_left && left_high ? lanes - 1 - try % lanes : try % lanes;
        if (fits(pennants, count, pennant, left, right, gap))
            return true;
    }
    return false;
}

static int rightmost_first(const void *a, const void *b)
{
    const DwPennant *first = *(DwPennant *const *)a, *second = *(DwPennant *const *)b;
    if (first->x == second->x)
        return (first > second) - (first < second);
    return first->x > second->x ? -1 : 1;
}

// From right to left every label flies above those it would cover, so that its
// stem, left of theirs, crosses none of them. A label to the left of its stem
// may bar the way of the next stems; with LEFT_HIGH it flies above them.
static bool sweep(DwPennant *pennants, size_t count, DwPennant **order, size_t chosen, double left, double right,
                  size_t lanes, bool left_high, double gap)
{
    qsort(order, chosen, sizeof(DwPennant *), rightmost_first);
    for (size_t i = 0; i < count; i++)
        pennants[i].placed = false;
    for (size_t i = 0; i < chosen; i++) {
        order[i]->placed = place_one(pennants, count, order[i], left, right, lanes, left_high, gap);
        if (!order[i]->placed)
            return false;
    }
    return true;
}

static bool sweep_either_way(DwPennant *pennants, size_t count, DwPennant **order, size_t chosen, double left,
                             double right, size_t lanes, double gap)
{
    return sweep(pennants, count, order, chosen, left, right, lanes, false, gap) ||
           sweep(pennants, count, order, chosen, left, right, lanes, true, gap);
}

void dw_pennant_place(DwPennant *pennants, size_t count, double left, double right, size_t lanes, double gap)
{
    DwPennant **order = dw_memory_new(count + 1, sizeof *order);
    size_t chosen = 0;
    for (size_t i = 0; i < count && chosen < CHOSEN_MOST; i++) {
        order[chosen++] = &pennants[i];
        if (sweep_either_way(pennants, count, order, chosen, left, right, lanes, gap))
            continue;
        // This one finds no place beside the more important ones.
        for (size_t j = 0; j < chosen; j++)
            if (order[j] == &pennants[i])
                order[j] = order[chosen - 1];
        chosen--;
    }
    sweep_either_way(pennants, count, order, chosen, left, right, lanes, gap);
    free(order);
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
