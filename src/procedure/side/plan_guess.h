// SPDX-License-Identifier: MIT
// A plan proposed from what a recording of a side holds.
#ifndef DW_PROCEDURE_PLAN_GUESS_H
#define DW_PROCEDURE_PLAN_GUESS_H

#include "base/plan/band_plan.h"
#include "base/inputs.h"

typedef struct {
    DwBandPlan plan;
    double speed_ratio;           // played over nominal, from the tones together
    unsigned reference_band;      // whose level was taken for 5 cm/s; 0: none was fit for it
    size_t tones, tones_that_fit; // frequencies heard, and those within 0.3 % of a usual one
} DwPlanGuess;

// Listens to the recording at PATH. Of INPUTS record.start, record.end and response.riaa
// count. A recording without any band is DW_BAD_INPUT. The caller clears guess->plan.
//
// Method: the speed error within 6 % that puts the tones nearest to frequencies that
// test records use, all together; their frequencies are then those. Levels cannot be
// heard: a lateral tone near 1 kHz is taken for 5 cm/s.
DwStatus dw_plan_guess_read(const char *path, const DwInputs *inputs, DwPlanGuess *guess, DwMessage *message);

#endif
