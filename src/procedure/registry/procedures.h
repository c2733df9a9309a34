// SPDX-License-Identifier: MIT
// The rows of the registry, one line a procedure, each in a file of its name.
#ifndef DW_PROCEDURE_PROCEDURES_H
#define DW_PROCEDURE_PROCEDURES_H

#include "procedure/registry/procedure.h"

extern const DwProcedure dw_procedure_align;
extern const DwProcedure dw_procedure_azimuth;
extern const DwProcedure dw_procedure_bearing;
extern const DwProcedure dw_procedure_belt;
extern const DwProcedure dw_procedure_channels;
extern const DwProcedure dw_procedure_drive;
extern const DwProcedure dw_procedure_film;
extern const DwProcedure dw_procedure_force;
extern const DwProcedure dw_procedure_held;
extern const DwProcedure dw_procedure_intermod;
extern const DwProcedure dw_procedure_load;
extern const DwProcedure dw_procedure_lowsweep;
extern const DwProcedure dw_procedure_noise;
extern const DwProcedure dw_procedure_rake;
extern const DwProcedure dw_procedure_pose;
extern const DwProcedure dw_procedure_ratio;
extern const DwProcedure dw_procedure_reseat;
extern const DwProcedure dw_procedure_resonance;
extern const DwProcedure dw_procedure_response;
extern const DwProcedure dw_procedure_riaa;
extern const DwProcedure dw_procedure_pressing;
extern const DwProcedure dw_procedure_side;
extern const DwProcedure dw_procedure_speed;
extern const DwProcedure dw_procedure_startup;
extern const DwProcedure dw_procedure_strobe;
extern const DwProcedure dw_procedure_template;
extern const DwProcedure dw_procedure_tracking;
extern const DwProcedure dw_procedure_twin;

#endif
