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
