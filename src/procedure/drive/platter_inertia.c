// SPDX-License-Identifier: MIT
#include "procedure/drive/parts.h"

#include "physics/bearing.h"

double dw_platter_inertia(const DwInputs *inputs)
{
    if (dw_inputs_given(inputs, "platter.inertia"))
        return dw_inputs_in(inputs, "platter.inertia", "kg.m2");
    return dw_bearing_ring_inertia(dw_inputs_in(inputs, "platter.mass", "kg"),
                                   dw_inputs_in(inputs, "platter.diameter", "mm"),
                                   dw_inputs_in(inputs, "platter.inner_diameter", "mm"));
}
