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

const double dw_tone_usual_hz[DW_TONE_USUAL] = {3150, 3000, 1000, 315};

static const double SLIDER = 0.13;       // sliders go to 12 % at most; with its wow
static const double USUAL_SLIDER = 0.09; // to 8 %, while the tone itself is a guess
static const double FARTHEST = 0.52;     // of a stated tone

static DwToneFit fit_stated(double frequency_hz, double stated_hz)
{
    if (is_near(frequency_hz, stated_hz, SLIDER))
        return DW_TONE_EXPECTED;
    if (is_near(frequency_hz, stated_hz, FARTHEST) || is_other_speed(frequency_hz / stated_hz))
        return DW_TONE_OTHER_SPEED;
    return DW_TONE_FOREIGN;
}

DwToneFit dw_tone_fit_of(double frequency_hz, double stated_hz, double *engraved_hz)
{
    *engraved_hz = NAN;
    if (isfinite(stated_hz)) {
        *engraved_hz = stated_hz;
        return fit_stated(frequency_hz, stated_hz);
    }
    double nearest = USUAL_SLIDER;
    DwToneFit fit = DW_TONE_FOREIGN;
    for (size_t i = 0; i < DW_TONE_USUAL; i++) {
        double off = fabs(frequency_hz / dw_tone_usual_hz[i] - 1);
        if (off <= nearest) {
            nearest = off;
            *engraved_hz = dw_tone_usual_hz[i];
            fit = DW_TONE_EXPECTED;
        }
    }
    static const double likely[] = {1.35, 1 / 1.35, 1.2, 1 / 1.2, 2.348, 1 / 2.348};
    for (size_t r = 0; fit == DW_TONE_FOREIGN && r < sizeof likely / sizeof *likely; r++)
        for (size_t i = 0; i < DW_TONE_USUAL; i++)
            if (is_near(frequency_hz / dw_tone_usual_hz[i], likely[r], 0.022)) {
                *engraved_hz = dw_tone_usual_hz[i];
                fit = DW_TONE_OTHER_SPEED;
            }
    return fit;
}

double dw_tone_fit_highest_hz(double stated_hz)
{
    static const double seventy_eight = 2.37, dearest_hz = 12000; // above it every hertz costs samples
    double tone_hz = isfinite(stated_hz) ? stated_hz : dw_tone_usual_hz[0];
    return fmax((1 + FARTHEST) * tone_hz, fmin(seventy_eight * tone_hz, dearest_hz));
}
