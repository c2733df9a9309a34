// SPDX-License-Identifier: MIT
#ifndef DW_PROCEDURE_PLATTER_INERTIA_H
#define DW_PROCEDURE_PLATTER_INERTIA_H

#include "base/inputs.h"

// The platter's moment of inertia (kg·m²): as stated, else from mass and
// diameters; NAN where neither was given.
double dw_platter_inertia(const DwInputs *inputs);

#endif
