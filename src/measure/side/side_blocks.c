// SPDX-License-Identifier: MIT
// Stretches of a side, a quarter of a second at a time.
#include "measure/side/side_segments.h"

#include "base/memory.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>

const double DW_SIDE_BLOCK_S = 0.25;
enum { FRAMES_MOST = 32, COUNT_LEAST = 4 };

double dw_side_block_power(const DwSideFinder *finder, double from_s, size_t k)
{
    const DwSideCourse *course = dw_side_finder_course(finder);
    double start_s = dw_side_finder_start_s(finder);
    float power[FRAMES_MOST];
    size_t first = (size_t)fmax(0, ceil((from_s + (double)k * DW_SIDE_BLOCK_S - start_s) / course->hop_s)), count = 0;
    for (size_t i = first; i < course->count && count < FRAMES_MOST; i++) {
        if (((double)i + 1) * course->hop_s + start_s > from_s + (double)(k + 1) * DW_SIDE_BLOCK_S)
            break;
        power[count++] = course->frames[i].power;
    }
    return count ? dw_statistics_quantile(power, count, 0.5) : INFINITY;
}

double dw_side_blocks_median(const DwSideFinder *finder, double from_s, size_t count)
{
    float *power = dw_memory_new(count, sizeof *power);
    for (size_t k = 0; k < count; k++)
        power[k] = (float)dw_side_block_power(finder, from_s, k);
    double median = dw_statistics_quantile(power, count, 0.5);
    free(power);
    return median;
}

typedef struct {
    double mean, variance; // of the mean
} Level;

static Level level_of(const DwSideFinder *finder, double from_s, size_t count)
{
    double mean = 0, squares = 0; // by Welford's way, as the powers are nearly alike
    for (size_t k = 0; k < count; k++) {
        double power = dw_side_block_power(finder, from_s, k), off = power - mean;
        mean += off / (double)(k + 1);
        squares += off * (power - mean);
    }
    return (Level){mean, squares / ((double)count * (double)(count - 1))};
}

double dw_side_blocks_louder(const DwSideFinder *finder, double from_s, size_t count, double quiet_s,
                             size_t quiet_count)
{
    if (count < COUNT_LEAST || quiet_count < COUNT_LEAST)
        return NAN;
    Level loud = level_of(finder, from_s, count), quiet = level_of(finder, quiet_s, quiet_count);
    return (loud.mean - quiet.mean) / sqrt(loud.variance + quiet.variance);
}
