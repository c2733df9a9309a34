// SPDX-License-Identifier: MIT
// What a noise reading is referred to, from a recorded tone or a stated level,
// and the weighting curves of data/weighting.
#ifndef DW_PROCEDURE_NOISE_REFERENCE_H
#define DW_PROCEDURE_NOISE_REFERENCE_H

#include "base/inputs.h"
#include "measure/band/noise.h"
#include "measure/tone/reference_tone.h"

// The reference: the tone in the recording at PATH where that is not NULL, else
// the seconds noise.reference of SILENCE_PATH, else the level stated, else none
// (rms NAN). A recording in which no steady tone is found is DW_BAD_INPUT.
DwStatus dw_noise_reference_read(const char *path, const char *silence_path, const DwInputs *inputs,
                                 DwNoiseReference *reference, DwMessage *message);

// Refers to TONE, cut at VELOCITY_CM_S (NAN: its own level is the datum) in
// STATED_DIRECTION: lateral, vertical, left, right, or auto to look at the channels.
void dw_noise_reference_refer(const DwReferenceTone *tone, const char *stated_direction, double velocity_cm_s,
                              const DwInputs *inputs, DwNoiseReference *reference);

// Reads data/weighting/NAME.ini.
DwStatus dw_noise_curve_read(const char *name, DwNoiseCurve *curve, DwMessage *message);

#endif
