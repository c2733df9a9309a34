// SPDX-License-Identifier: MIT
#include "physics/strobe.h"

#include <math.h>

double dw_strobe_mains_flash_hz(double mains_hz)
{
    return 2 * mains_hz;
}

int dw_strobe_bars(double flash_hz, double speed_rpm)
{
    return (int)fmax(1, round(60 * flash_hz / speed_rpm));
}

double dw_strobe_standing_rpm(double flash_hz, int bars)
{
    return dw_strobe_drifting_rpm(flash_hz, bars, 0);
}

double dw_strobe_drifting_rpm(double flash_hz, int bars, double drift)
{
    return (60 * flash_hz + drift) / bars;
}

double dw_strobe_drift_percent(double flash_hz, double drift)
{
    return 100 * drift / (60 * flash_hz);
}
