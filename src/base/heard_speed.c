// SPDX-License-Identifier: MIT
#include "base/heard_speed.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>

static const double SIDE_S = 1200, CENTS_AN_OCTAVE = 1200;

DwHeardSpeed dw_heard_speed(double error_percent)
{
    assert(error_percent > -100);
    double ratio = 1 + error_percent / 100;
    return (DwHeardSpeed){CENTS_AN_OCTAVE * log2(ratio), SIDE_S * (1 - 1 / ratio)};
}

double dw_other_speed(double turn_hz, double stated_rpm)
{
    static const double speeds[] = {100.0 / 3, 45, 78.26}, within = 0.04;
    if (fabs(60 * turn_hz / stated_rpm - 1) <= within)
        return NAN;
    for (size_t i = 0; i < sizeof speeds / sizeof *speeds; i++)
        if (fabs(60 * turn_hz / speeds[i] - 1) <= within)
            return speeds[i];
    return NAN;
}
