// SPDX-License-Identifier: MIT
#include "base/usual_speed.h"

#include <math.h>
#include <stddef.h>

static const double OTHER_WITHIN = 0.04;

// By 78 also go the speeds that strobe discs of 92 and of 77 bars show: 7200/92 = 78.26 at 60 Hz, 6000/77 = 77.92 at
// 50 Hz (IEC 60098:2020, 5.1, from memory).
const DwUsualSpeed dw_usual_speed[DW_USUAL_SPEEDS] = {
    {50.0 / 3, 0, "16⅔", "16 2/3"},
    {100.0 / 3, 0, "33⅓", "33 1/3"},
    {45, 0, "45", "45"},
    {78, 0.0034, "78", "78"},
};

const DwUsualSpeed *dw_usual_speed_near(double rpm, double tolerance)
{
    const DwUsualSpeed *nearest = NULL;
    for (size_t i = DW_USUAL_DECK_FIRST; i < DW_USUAL_SPEEDS; i++) {
        const DwUsualSpeed *usual = &dw_usual_speed[i];
        double off = fmax(0, fabs(rpm / usual->rpm - 1) - usual->within);
        if (off <= tolerance && (!nearest || fabs(rpm / usual->rpm - 1) < fabs(rpm / nearest->rpm - 1)))
            nearest = usual;
    }
    return nearest;
}

double dw_usual_speed_other(double turn_hz, double stated_rpm)
{
    if (fabs(60 * turn_hz / stated_rpm - 1) <= OTHER_WITHIN)
        return NAN;
    const DwUsualSpeed *other = dw_usual_speed_near(60 * turn_hz, OTHER_WITHIN);
    return other ? other->rpm : NAN;
}
