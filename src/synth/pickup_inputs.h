// SPDX-License-Identifier: MIT
// The described arm and cartridge as a pickup that plays, and the chain behind it.
#ifndef DW_SYNTH_PICKUP_INPUTS_H
#define DW_SYNTH_PICKUP_INPUTS_H

#include "base/inputs.h"
#include "synth/pickup.h"
#include "synth/replay.h"

// Whatever is not described is without fault: no arm tracks without error, no
// compliance never loses the groove, no coil has no load. An arm or a coil that
// is described in part only is DW_BAD_INPUT with one line.
DwStatus dw_pickup_inputs_read(const DwInputs *inputs, DwPickupSettings *settings, DwMessage *message);
DwStatus dw_pickup_inputs_read_replay(const DwInputs *inputs, DwReplaySettings *settings, DwMessage *message);

#endif
