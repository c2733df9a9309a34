// SPDX-License-Identifier: MIT
#include "base/heard_speed.h"

#include <assert.h>
#include <math.h>

static const double SIDE_S = 1200, CENTS_AN_OCTAVE = 1200;

DwHeardSpeed dw_heard_speed(double error_percent)
{
    assert(error_percent > -100);
    double ratio = 1 + error_percent / 100;
    return (DwHeardSpeed){CENTS_AN_OCTAVE * log2(ratio), SIDE_S * (1 - 1 / ratio)};
}
