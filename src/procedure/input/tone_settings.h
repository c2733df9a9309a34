// SPDX-License-Identifier: MIT
// What the inputs state about a recorded tone, for every procedure that measures one.
#ifndef DW_PROCEDURE_TONE_SETTINGS_H
#define DW_PROCEDURE_TONE_SETTINGS_H

#include "measure/speed/speed.h"
#include "procedure/input/recording.h"

// The platter speed meant, rpm: one typed as 33, 33.3 or 33.33 means 33⅓.
double dw_nominal_speed(const DwInputs *inputs);
// Reads record.tone, deck.speed, flutter.split, record.radius (the first),
// arm.offset, chain.clock_error and record.tone_tolerance. DRIVE may be NULL: not described.
DwSpeedSettings dw_tone_settings(const DwInputs *inputs, const DwRecording *recording, const DwDrive *drive);

#endif
