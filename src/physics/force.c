// SPDX-License-Identifier: MIT
#include "physics/force.h"

#include "physics/chance.h"

#include <assert.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>

DwForceMean dw_force_mean(const double *readings, size_t count)
{
    assert(count >= 1);
    DwForceMean result = {.mean = gsl_stats_mean(readings, 1, count)};
    if (count < 2)
        return result;
    result.deviation = gsl_stats_sd_m(readings, 1, count, result.mean);
    result.half_width = dw_chance_student(0.975, (double)count - 1) * result.deviation / sqrt((double)count);
    return result;
}

double dw_force_shift_mm(double force_change_g, double front_change_g, double length_mm, double weight_g)
{
    assert(weight_g > 0);
    return (force_change_g - front_change_g) * length_mm / weight_g;
}

double dw_force_mass_change_g(double weight_g, double from_mm, double to_mm, double length_mm)
{
    assert(length_mm > 0);
    return weight_g * (to_mm * to_mm - from_mm * from_mm) / (length_mm * length_mm);
}

double dw_force_at_rise_g(const DwForceBalance *balance, double force_g, double rise_mm)
{
    double slope = rise_mm / balance->length_mm;
    return (force_g * balance->length_mm + balance->weight_g * balance->weight_drop_mm * slope) /
           (balance->length_mm + balance->bearing_height_mm * slope);
}

double dw_force_from_rise_g(const DwForceBalance *balance, double force_g, double rise_mm)
{
    double slope = rise_mm / balance->length_mm;
    return (force_g * (balance->length_mm + balance->bearing_height_mm * slope) -
            balance->weight_g * balance->weight_drop_mm * slope) /
           balance->length_mm;
}
