// SPDX-License-Identifier: MIT
#include "physics/load_network.h"

#include <math.h>

// An LCR meter reads a lead to about 5 pF; the spreads of what was not measured
// are half the ranges usual for it, from memory (arm wire 10 to 50 pF, inputs
// 47 to 220 pF). A length times a usual figure is good to a fifth.
double dw_load_network_lead_pf(const DwInputs *inputs, double *spread)
{
    double measured = dw_inputs_in(inputs, "cable.capacitance", "pF");
    *spread = 5;
    if (isfinite(measured))
        return measured;
    double lead =
        dw_inputs_in(inputs, "cable.length", "m") * dw_inputs_in(inputs, "cable.capacitance_per_length", "pF/m");
    *spread = 0.2 * lead;
    return lead;
}

DwLoadNetwork dw_load_network_find(const DwInputs *inputs)
{
    double lead_spread;
    double wire = dw_inputs_in(inputs, "arm.wire_capacitance", "pF"),
           lead = dw_load_network_lead_pf(inputs, &lead_spread);
    double input = dw_inputs_in(inputs, "preamp.capacitance", "pF");
    double wire_spread = dw_inputs_given(inputs, "arm.wire_capacitance") ? 5 : 20;
    double input_spread = dw_inputs_given(inputs, "preamp.capacitance") ? 5 : 85;
    double henry = dw_inputs_in(inputs, "cartridge.inductance", "H");
    DwLoadNetwork network = {
        .seen = {henry, dw_inputs_in(inputs, "cartridge.resistance", "ohm"),
                 dw_inputs_in(inputs, "preamp.resistance", "ohm"), (wire + lead + input) * 1e-12},
        .total_pf = wire + lead + input,
        .capacitance_spread_f = hypot(wire_spread, hypot(lead_spread, input_spread)) * 1e-12,
        .inductance_spread_h = henry * dw_inputs_in(inputs, "cartridge.inductance_tolerance", "fraction"),
    };
    double ratio = dw_inputs_in(inputs, "load.step_up", "");
    if (isfinite(ratio)) {
        network.seen.load_capacitance_f = (lead + input) * 1e-12;
        network.seen = dw_loading_through_transformer(network.seen, ratio, wire * 1e-12);
        network.capacitance_spread_f = hypot(wire_spread, ratio * ratio * hypot(lead_spread, input_spread)) * 1e-12;
    }
    return network;
}
