// SPDX-License-Identifier: MIT
#include "physics/belt_tension.h"

#include <math.h>

// g/mm are kg/m, so that mm stay for the lengths but one.
static double kilogram_per_metre(double mass_g, double length_mm)
{
    return mass_g / length_mm;
}

double dw_belt_tension_by_pluck(double pluck_hz, double span_mm, double mass_g, double length_mm)
{
    double speed = 2 * span_mm / 1000 * pluck_hz; // of a wave along it, m/s
    return kilogram_per_metre(mass_g, length_mm) * speed * speed;
}

double dw_belt_tension_by_push(double push_n, double give_mm, double span_mm, double stiffness_n)
{
    double half = hypot(span_mm / 2, give_mm), then = push_n * half / (2 * give_mm);
    double stretched = 2 * half / span_mm - 1; // by the push
    return isfinite(stiffness_n) ? then - stiffness_n * stretched : then;
}
