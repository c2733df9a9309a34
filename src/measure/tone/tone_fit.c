// SPDX-License-Identifier: MIT
#include "measure/tone/tone_fit.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

static bool is_near(double ratio, double target, double within)
{
    return fabs(ratio / target - 1) <= within;
}

// Ratios by which the whole of a recording is off when the deck stands at
// another speed (33⅓, 45, 78) or has the pulley for the other mains frequency.
static bool is_other_speed(double ratio)
{
    static const double ratios[] = {1.35, 1.2, 2.348, 1.739, 1.125, 1.62};
    for (size_t i = 0; i < sizeof ratios / sizeof *ratios; i++)
        if (is_near(ratio, ratios[i], 0.025) || is_near(ratio, 1 / ratios[i], 0.025))
            return true;
    return false;
}

DwToneFit dw_tone_fit_of(double frequency_hz, double stated_hz, double *engraved_hz)
{
    static const double usual[] = {3150, 3000, 1000, 315};
    *engraved_hz = NAN;
    if (isfinite(stated_hz)) {
        *engraved_hz = stated_hz;
        if (is_near(frequency_hz, stated_hz, 0.065)) // 6 % with its wow
            return DW_TONE_EXPECTED;
        return is_other_speed(frequency_hz / stated_hz) ? DW_TONE_OTHER_SPEED : DW_TONE_FOREIGN;
    }
    double nearest = 0.04;
    DwToneFit fit = DW_TONE_FOREIGN;
    for (size_t i = 0; i < sizeof usual / sizeof *usual; i++) {
        double off = fabs(frequency_hz / usual[i] - 1);
        if (off <= nearest) {
            nearest = off;
            *engraved_hz = usual[i];
            fit = DW_TONE_EXPECTED;
        }
    }
    static const double likely[] = {1.35, 1 / 1.35, 1.2, 1 / 1.2};
    for (size_t r = 0; fit == DW_TONE_FOREIGN && r < sizeof likely / sizeof *likely; r++)
        for (size_t i = 0; i < sizeof usual / sizeof *usual; i++)
            if (is_near(frequency_hz / usual[i], likely[r], 0.022)) {
                *engraved_hz = usual[i];
                fit = DW_TONE_OTHER_SPEED;
            }
    return fit;
}
