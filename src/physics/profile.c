// SPDX-License-Identifier: MIT
#include "physics/profile.h"

#include <math.h>

static DwPeak refine(DwProfile profile, double low, double high)
{
    const double golden = (sqrt(5) - 1) / 2;
    double left = high - golden * (high - low), right = low + golden * (high - low);
    double at_left = profile.at(profile.context, left), at_right = profile.at(profile.context, right);
    for (int i = 0; i < 38; i++) {
        if (at_left > at_right) {
            high = right;
            right = left;
            at_right = at_left;
            left = high - golden * (high - low);
            at_left = profile.at(profile.context, left);
        } else {
            low = left;
            left = right;
            at_left = at_right;
            right = low + golden * (high - low);
            at_right = profile.at(profile.context, right);
        }
    }
    double middle = (low + high) / 2;
    return (DwPeak){profile.at(profile.context, middle), middle};
}

DwPeak dw_profile_peak(DwProfile profile, double low, double high)
{
    enum { STEPS = 48 };
    double values[STEPS + 1];
    double step = (high - low) / STEPS;
    for (int i = 0; i <= STEPS; i++)
        values[i] = profile.at(profile.context, i == STEPS ? high : low + i * step);
    DwPeak best = {values[0], low};
    if (values[STEPS] > best.value)
        best = (DwPeak){values[STEPS], high};
    // Every hill of the scan is climbed: at an optimum several are equally high
    // and the scan cannot tell which top is the highest.
    for (int i = 0; i <= STEPS; i++) {
        if (isinf(values[i]) || (i > 0 && values[i - 1] > values[i]) || (i < STEPS && values[i + 1] > values[i]))
            continue;
        double x = low + i * step;
        DwPeak peak = refine(profile, i == 0 ? low : x - step, i == STEPS ? high : x + step);
        if (peak.value > best.value)
            best = peak;
    }
    return best;
}

double dw_profile_rms(DwProfile profile, double low, double high)
{
    enum { INTERVALS = 256 };
    double step = (high - low) / INTERVALS;
    double sum = 0;
    for (int i = 0; i <= INTERVALS; i++) {
        double value = profile.at(profile.context, low + i * step);
        sum += value * value * (i == 0 || i == INTERVALS ? 1 : i % 2 ? 4 : 2);
    }
    return sqrt(sum / 3 / INTERVALS);
}
