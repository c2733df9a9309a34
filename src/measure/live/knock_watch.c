// SPDX-License-Identifier: MIT
#include "measure/live/knock_watch.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { RECENT = 50, LEAST = 25, NOW = 10 }; // peaks
static const double KNOCK_DB = 12, LEAST_DB = -50, APART_DB = 6, QUIETEST = 1e-5;

void dw_knock_watch_push(DwKnockWatch *watch, const float *peaks, size_t count)
{
    for (size_t i = 0; i < count; i++)
        watch->peaks[watch->count++ % DW_KNOCK_PEAKS] = peaks[i];
}

static double highest_of_last(const DwKnockWatch *watch, size_t last)
{
    float highest = 0;
    for (size_t i = 0; i < last && i < watch->count && i < DW_KNOCK_PEAKS; i++)
        highest = fmaxf(highest, watch->peaks[(watch->count - 1 - i) % DW_KNOCK_PEAKS]);
    return (double)highest;
}

double dw_knock_watch_level_db(const DwKnockWatch *watch)
{
    return watch->count ? 20 * log10(highest_of_last(watch, NOW)) : (double)NAN;
}

static int ascending(const void *a, const void *b)
{
    float one = *(const float *)a, two = *(const float *)b;
    return (one > two) - (one < two);
}

double dw_knock_watch_height_db(const DwKnockWatch *watch)
{
    float sorted[DW_KNOCK_PEAKS];
    size_t held = watch->count < DW_KNOCK_PEAKS ? watch->count : DW_KNOCK_PEAKS;
    if (held < LEAST)
        return 0;
    memcpy(sorted, watch->peaks, held * sizeof *sorted);
    qsort(sorted, held, sizeof *sorted, ascending);
    double peak = highest_of_last(watch, RECENT), usual = fmax((double)sorted[held / 2], QUIETEST);
    double height = 20 * log10(peak / usual);
    return peak > 0 && height >= KNOCK_DB && 20 * log10(peak) >= LEAST_DB ? height : 0;
}

size_t dw_knock_watch_which(const double *heights_db, size_t count)
{
    size_t which = count;
    for (size_t i = 0; i < count; i++)
        if (heights_db[i] > 0 && (which == count || heights_db[i] > heights_db[which]))
            which = i;
    for (size_t i = 0; i < count; i++)
        if (which < count && i != which && heights_db[i] > heights_db[which] - APART_DB)
            return count;
    return which;
}
