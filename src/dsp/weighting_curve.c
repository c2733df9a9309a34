// SPDX-License-Identifier: MIT
#include "dsp/weighting_curve.h"

#include <assert.h>
#include <math.h>

bool dw_weighting_curve_add(DwWeightingCurve *curve, double frequency_hz, double level_db)
{
    size_t n = curve->count;
    if (n == DW_WEIGHTING_CURVE_MOST || !(frequency_hz > 0) || (n && frequency_hz <= curve->frequency_hz[n - 1]))
        return false;
    curve->frequency_hz[n] = frequency_hz;
    curve->level_db[n] = level_db;
    curve->count++;
    return true;
}

double dw_weighting_curve_db(const DwWeightingCurve *curve, double frequency_hz)
{
    assert(curve->count >= 2);
    size_t above = 1;
    while (above + 1 < curve->count && curve->frequency_hz[above] < frequency_hz)
        above++;
    double low = log(curve->frequency_hz[above - 1]), high = log(curve->frequency_hz[above]);
    double share = (log(frequency_hz) - low) / (high - low);
    return curve->level_db[above - 1] + share * (curve->level_db[above] - curve->level_db[above - 1]);
}
