// SPDX-License-Identifier: MIT
// All that the playing of a planned side is described by.
#ifndef DW_SYNTH_SIDE_INPUTS_H
#define DW_SYNTH_SIDE_INPUTS_H

#include "base/inputs.h"
#include "synth/pickup.h"
#include "synth/replay.h"
#include "synth/settings.h"
#include "synth/travel.h"

// Up and down so many times a turn.
typedef struct {
    double times;
    double height_mm; // from bottom to top
} DwSideWarp;

typedef struct {
    DwBandPlan plan;
    DwEngraving engraving; // of that plan
    DwPickupSettings pickup;
    DwReplaySettings replay;
    double from_s, to_s; // of the groove
    DwTravelJump *jumps;
    size_t jump_count;
    DwSideWarp *warps;
    size_t warp_count;
    double arm_flutter_rms; // ratio
    double reference_cm_s;  // peak of each wall, in a lateral tone at the record's reference
} DwSideInputs;

// Whether INPUTS describe a planned side.
bool dw_side_inputs_planned(const DwInputs *inputs);
// Refuses what a plan has no use for, or what only a plan has a use for.
DwStatus dw_side_inputs_check(const DwInputs *inputs, DwMessage *message);
// SETTINGS have been read from the same INPUTS; what the record's warps do to the
// speed is added to their course. The caller clears *SIDE.
DwStatus dw_side_inputs_read(const DwInputs *inputs, DwSettings *settings, DwSideInputs *side, DwMessage *message);
void dw_side_inputs_clear(DwSideInputs *side);

// The described arm and cartridge as a pickup that plays, and the chain behind it.

// Whatever is not described is without fault: no arm tracks without error, no
// compliance never loses the groove, no coil has no load. An arm or a coil that
// is described in part only is DW_BAD_INPUT with one line.
DwStatus dw_pickup_inputs_read(const DwInputs *inputs, DwPickupSettings *settings, DwMessage *message);
DwStatus dw_pickup_inputs_read_replay(const DwInputs *inputs, DwReplaySettings *settings, DwMessage *message);

#endif
