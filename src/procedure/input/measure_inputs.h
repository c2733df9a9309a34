// SPDX-License-Identifier: MIT
// What the inputs state for the measurements of recordings, one function for each
// measurement, for the procedure of its name and for whole sides.
#ifndef DW_PROCEDURE_MEASURE_INPUTS_H
#define DW_PROCEDURE_MEASURE_INPUTS_H

#include "base/inputs.h"
#include "measure/band/azimuth_bands.h"
#include "measure/band/channels.h"
#include "measure/sweep/lowsweep.h"
#include "measure/band/noise.h"
#include "measure/sweep/response.h"
#include "measure/band/tracking.h"

// Whether the recording was made behind replay equalisation.
bool dw_measure_inputs_equalised(const DwInputs *inputs);
DwChannelsSettings dw_measure_inputs_channels(const DwInputs *inputs);
// Without tilts.
DwAzimuthSettings dw_measure_inputs_azimuth(const DwInputs *inputs);
// Curves are read from the data folder; rate, channels and seconds are the recording's.
DwStatus dw_measure_inputs_noise(const DwInputs *inputs, DwNoiseSettings *settings, DwMessage *message);
// The drive as described, with the step of it for SPEED_RPM; *GIVEN says whether there is one.
DwStatus dw_measure_inputs_drive(const DwInputs *inputs, double speed_rpm, bool *given, DwDrive *drive,
                                 DwMessage *message);
// The rates of its parts, for naming lines; none where no drive is described.
DwStatus dw_measure_inputs_noise_drive(const DwInputs *inputs, double speed_rpm, DwNoiseDrive *drive,
                                       DwMessage *message);
// LOADING is filled where cartridge and load are known, and then belongs to the settings.
DwResponseSettings dw_measure_inputs_response(const DwInputs *inputs, DwLoading *loading);
DwLowsweepSettings dw_measure_inputs_lowsweep(const DwInputs *inputs);
// Without steps, levels and radii.
DwTrackingSettings dw_measure_inputs_tracking(const DwInputs *inputs);

#endif
