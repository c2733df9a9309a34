// SPDX-License-Identifier: MIT
#include "procedure/drive/platter_inertia.h"

#include "physics/bearing.h"

double dw_platter_inertia(const DwInputs *inputs)
{
    if (dw_inputs_given(inputs, "platter.inertia"))
        return dw_inputs_number(inputs, "platter.inertia");
    return dw_bearing_ring_inertia(dw_inputs_number(inputs, "platter.mass") / 1000,
                                   dw_inputs_number(inputs, "platter.diameter"),
                                   dw_inputs_number(inputs, "platter.inner_diameter"));
}
