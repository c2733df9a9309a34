// SPDX-License-Identifier: MIT
// How sharply a demodulated series jolts: what shows a tick.
#ifndef DW_MEASURE_JOLT_H
#define DW_MEASURE_JOLT_H

#include <math.h>
#include <stddef.h>

// The magnitude of the second difference of X at its element 0, which must have
// neighbours.
static inline double dw_jolt_at(const float *x)
{
    return fabs((double)x[-1] - 2 * (double)x[0] + (double)x[1]);
}
// The spread of the jolts of X[COUNT], as a robust standard deviation; only where USED is not zero
// (NULL: everywhere). Of long series some 60 000 are looked at.
double dw_jolt_roughness(const float *x, const unsigned char *used, size_t count);
// How far the jolts of X[COUNT] reach beyond their median, as a ratio: the one that 97 % lie below. 3.2 of noise, less
// of what swings, more where there are sound stretches between the jolts. 0 for too few.
double dw_jolt_reach(const float *x, size_t count);

#endif
