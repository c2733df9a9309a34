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

int dw_strobe_step(double flash_hz, int bars, double speed_rpm)
{
    return (int)fmax(1, round(speed_rpm * bars / (60 * flash_hz)));
}

int dw_strobe_images(double flash_hz, int bars, double speed_rpm)
{
    static const double far = 0.1, near = 0.02; // off a whole step or a fraction of one, relative
    double passing = speed_rpm * bars / (60 * flash_hz);
    if (fabs(fmax(1, round(passing)) / passing - 1) <= far)
        return 1;
    for (int images = 2; images <= DW_STROBE_IMAGES_MOST; images++)
        if (fabs(fmax(1, round(images * passing)) / images / passing - 1) < near)
            return images;
    return 1;
}

double dw_strobe_standing_rpm(double flash_hz, int bars, int step)
{
    return dw_strobe_drifting_rpm(flash_hz, bars, step, 0);
}

double dw_strobe_drifting_rpm(double flash_hz, int bars, int step, double drift)
{
    return (60 * flash_hz * step + drift) / bars;
}

double dw_strobe_drift_percent(double flash_hz, int step, double drift)
{
    return 100 * drift / (60 * flash_hz * step);
}
