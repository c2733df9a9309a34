// SPDX-License-Identifier: MIT
#include "physics/riaa.h"

#include <assert.h>
#include <math.h>

static double power_db(double frequency_hz, double time_constant_s)
{
    double x = 2 * M_PI * frequency_hz * time_constant_s;
    return 10 * log10(1 + x * x);
}

// The level before it is referred to 1 kHz.
static double level_db(double frequency_hz, bool subsonic)
{
    double db = power_db(frequency_hz, DW_RIAA_MIDDLE) - power_db(frequency_hz, DW_RIAA_BASS) -
                power_db(frequency_hz, DW_RIAA_TREBLE);
    if (subsonic)
        db += 20 * log10(2 * M_PI * frequency_hz * DW_RIAA_SUBSONIC) - power_db(frequency_hz, DW_RIAA_SUBSONIC);
    return db;
}

double dw_riaa_replay_db(double frequency_hz, bool subsonic)
{
    assert(frequency_hz > 0);
    return level_db(frequency_hz, subsonic) - level_db(1000, subsonic);
}

double dw_riaa_treble_db(double frequency_hz)
{
    return power_db(1000, DW_RIAA_TREBLE) - power_db(frequency_hz, DW_RIAA_TREBLE);
}

double dw_riaa_corner_hz(double time_constant_s)
{
    return 1 / (2 * M_PI * time_constant_s);
}

double dw_riaa_parts_off_db(double frequency_hz)
{
    static const double tau[3] = {DW_RIAA_BASS, DW_RIAA_MIDDLE, DW_RIAA_TREBLE}, rms = 0.05;
    double squares = 0;
    for (int i = 0; i < 3; i++) {
        double here = pow(2 * M_PI * frequency_hz * tau[i], 2), at_1k = pow(2 * M_PI * 1000 * tau[i], 2);
        double slope = 20 / log(10) * (here / (1 + here) - at_1k / (1 + at_1k));
        squares += slope * slope;
    }
    return 1.96 * rms * sqrt(squares);
}
