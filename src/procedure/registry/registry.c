// SPDX-License-Identifier: MIT
#include "procedure/registry/procedures.h"

#include <string.h>

// In the order a technician meets them.
static const DwProcedure *const procedures[] = {
    &dw_procedure_side,
    &dw_procedure_pressing,
    &dw_procedure_speed,
    &dw_procedure_startup,
    &dw_procedure_reseat,
    &dw_procedure_channels,
    &dw_procedure_azimuth,
    &dw_procedure_noise,
    &dw_procedure_response,
    &dw_procedure_lowsweep,
    &dw_procedure_tracking,
    &dw_procedure_intermod,
    &dw_procedure_align,
    &dw_procedure_template,
    &dw_procedure_force,
    &dw_procedure_rake,
    &dw_procedure_resonance,
    &dw_procedure_load,
    &dw_procedure_riaa,
    &dw_procedure_drive,
    &dw_procedure_ratio,
    &dw_procedure_strobe,
    &dw_procedure_bearing,
    &dw_procedure_held,
    &dw_procedure_twin,
    &dw_procedure_film,
    &dw_procedure_pose,
    &dw_procedure_belt,
    NULL,
};

const DwProcedure *dw_procedure_at(size_t index)
{
    return index < sizeof procedures / sizeof *procedures ? procedures[index] : NULL;
}

const DwProcedure *dw_procedure_find(const char *name)
{
    const DwProcedure *procedure;
    for (size_t i = 0; (procedure = dw_procedure_at(i)); i++)
        if (strcmp(procedure->name, name) == 0)
            return procedure;
    return NULL;
}
