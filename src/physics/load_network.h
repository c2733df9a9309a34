// SPDX-License-Identifier: MIT
// The cartridge with its load, read from the inputs.
#ifndef DW_PHYSICS_LOAD_NETWORK_H
#define DW_PHYSICS_LOAD_NETWORK_H

#include "base/inputs.h"
#include "physics/loading.h"

// What the cartridge sees, and how well it is known.
typedef struct {
    DwLoading seen; // through the transformer where there is one
    double total_pf;
    double capacitance_spread_f, inductance_spread_h; // 95 % half-widths, as seen
} DwLoadNetwork;

// The network of INPUTS, which give the inductance and resistance of the coil.
DwLoadNetwork dw_load_network_find(const DwInputs *inputs);

// The lead's capacitance [pF], measured or by its length, and its 95 % spread.
double dw_load_network_lead_pf(const DwInputs *inputs, double *spread);

#endif
