// SPDX-License-Identifier: MIT
#include "measure/tone/jolt.h"

#include "base/memory.h"
#include "dsp/statistics.h"

#include <stdlib.h>

double dw_jolt_roughness(const float *x, const unsigned char *used, size_t count)
{
    size_t stride = count / 60000 + 1, kept = 0;
    float *scratch = dw_memory_new(count / stride + 1, sizeof *scratch);
    for (size_t n = 1; n + 1 < count; n += stride)
        if (!used || used[n])
            scratch[kept++] = (float)dw_jolt_at(x + n);
    double sigma = kept ? 1.4826 * dw_statistics_quantile(scratch, kept, 0.5) : 0;
    free(scratch);
    return sigma;
}

double dw_jolt_reach(const float *x, size_t count)
{
    if (count < 3)
        return 0;
    float *jolts = dw_memory_new(count, sizeof *jolts);
    for (size_t n = 1; n + 1 < count; n++)
        jolts[n - 1] = (float)dw_jolt_at(x + n);
    double median = dw_statistics_quantile(jolts, count - 2, 0.5),
           high = dw_statistics_quantile(jolts, count - 2, 0.97);
    free(jolts);
    return median > 0 ? high / median : 0;
}
