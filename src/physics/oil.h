// SPDX-License-Identifier: MIT
// Oils: viscosity by temperature from two known points, density, and the
// dynamic viscosity that a bearing feels.
#ifndef DW_PHYSICS_OIL_H
#define DW_PHYSICS_OIL_H

#include "base/status.h"

// The two constants of one oil; see dw_oil_fit.
typedef struct {
    double a, b;
} DwOil;

// The constants of an oil from its kinematic viscosity at two temperatures.
//
// Given: viscosities (mm²/s) and temperatures (°C), the warmer one thinner.
// Status: DW_BAD_INPUT when the two points are not those of an oil.
// Accuracy: the form holds above about 2 mm²/s; outside the two temperatures it
// extrapolates; it is not for greases or tacky, polymer-thickened oils.
// Reference: ASTM D341-20, Standard Practice for Viscosity-Temperature Equations
// and Charts; log log (ν + 0.7) = A − B log T after C. Walther.
DwStatus dw_oil_fit(double viscosity_1, double celsius_1, double viscosity_2, double celsius_2, DwOil *oil,
                    DwMessage *message);
// The kinematic viscosity (mm²/s) at CELSIUS.
double dw_oil_viscosity(const DwOil *oil, double celsius);

// Density (kg/m³) at CELSIUS of a mineral oil of DENSITY_15 at 15 °C.
// Accuracy: coefficient 0.00065 per kelvin from memory; ASTM D1250 has the tables.
double dw_oil_density(double density_15, double celsius);
// Dynamic viscosity (Pa·s) from kinematic (mm²/s) and density (kg/m³).
double dw_oil_dynamic(double viscosity, double density);

#endif
