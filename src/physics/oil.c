// SPDX-License-Identifier: MIT
#include "physics/oil.h"

#include <math.h>

static const double absolute_zero = -273.15;

static double walther(double viscosity)
{
    return log10(log10(viscosity + 0.7));
}

DwStatus dw_oil_fit(double viscosity_1, double celsius_1, double viscosity_2, double celsius_2, DwOil *oil,
                    DwMessage *message)
{
    double thick = celsius_1 < celsius_2 ? viscosity_1 : viscosity_2;
    double thin = celsius_1 < celsius_2 ? viscosity_2 : viscosity_1;
    if (!(thin > 0.5) || !(thick > thin) || !(fmin(celsius_1, celsius_2) > absolute_zero))
        return dw_fail(message, DW_BAD_INPUT,
                       "An oil is thinner when warm: %g mm²/s at %g °C and %g mm²/s at %g °C cannot be one oil. "
                       "Check both against the data sheet.",
                       viscosity_1, celsius_1, viscosity_2, celsius_2);
    double log_1 = log10(celsius_1 - absolute_zero), log_2 = log10(celsius_2 - absolute_zero);
    oil->b = (walther(viscosity_1) - walther(viscosity_2)) / (log_2 - log_1);
    oil->a = walther(viscosity_1) + oil->b * log_1;
    return DW_OK;
}

double dw_oil_viscosity(const DwOil *oil, double celsius)
{
    return pow(10, pow(10, oil->a - oil->b * log10(celsius - absolute_zero))) - 0.7;
}

double dw_oil_density(double density_15, double celsius)
{
    return density_15 * (1 - 0.00065 * (celsius - 15));
}

double dw_oil_dynamic(double viscosity, double density)
{
    return viscosity * 1e-6 * density;
}
