// SPDX-License-Identifier: MIT
#include "physics/skating.h"

#include <assert.h>
#include <math.h>

double dw_skating_angle(double pivot_to_spindle_mm, double effective_length_mm, double radius_mm)
{
    double length = effective_length_mm;
    assert(radius_mm > 0 && length > 0);
    double sine = (length * length + radius_mm * radius_mm - pivot_to_spindle_mm * pivot_to_spindle_mm) /
                  (2 * length * radius_mm);
    return fabs(sine) < 1 ? asin(sine) : NAN;
}

DwSkating dw_skating_at(double friction, double force_mn, double length_mm, double angle)
{
    double drag = friction * force_mn;
    double share = friction * tan(angle);
    return (DwSkating){
        .radial_mn = drag * tan(angle),
        .across_mn = drag * sin(angle),
        .torque_unm = drag * length_mm * sin(angle),
        .inner_mn = force_mn * (1 + share) * M_SQRT1_2,
        .outer_mn = force_mn * (1 - share) * M_SQRT1_2,
    };
}

double dw_skating_held_um(double wall_mn, double compliance)
{
    return fmax(0, wall_mn * compliance);
}
