// SPDX-License-Identifier: MIT
// What is stated of a live input as what its meter and its figures are held against. Of live_session only.
#ifndef DW_PROCEDURE_LIVE_SETTINGS_H
#define DW_PROCEDURE_LIVE_SETTINGS_H

#include "procedure/live/live_session.h"

// The limits of the class that INPUTS state, by figure.
DwStatus dw_live_settings_limits(const DwInputs *inputs, DwLiveLimit limit[DW_LIVE_FIGURES], DwMessage *message);
DwLiveMeterSettings dw_live_settings_meter(const DwInputs *inputs, double rate_hz, unsigned channels);

#endif
