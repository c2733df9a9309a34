// SPDX-License-Identifier: MIT
// What dw_twin worked out, for its sheet. Within this room only.
#ifndef DW_MEASURE_TWIN_ANALYSIS_H
#define DW_MEASURE_TWIN_ANALYSIS_H

#include "measure/music/music_take.h"
#include "measure/music/twin.h"
#include "measure/music/twin_fit.h"
#include "measure/music/twin_levels.h"
#include "measure/music/twin_ticks.h"
#include "measure/music/twin_wear.h"
#include "measure/music/twin_wiring.h"

struct DwTwin {
    DwTwinSettings settings;
    DwMusicTake *take[2];
    DwTwinLevels *levels[2];
    DwTwinTicks *ticks[2];
    DwTwinPath path;
    DwTwinCourse course;
    DwTwinFit fit;
    double share; // of the windows with sound: one and the same, and in step with the whole
    bool fitted;
    bool levelled;
    DwTwinWiring wiring;
    DwTwinLevelling levelling;
};

// Puts all of it on SHEET.
void dw_twin_sheet_fill(const DwTwin *twin, DwSheet *sheet);
// Of that, which has more surface noise and which ticks more often.
void dw_twin_wear_fill(const DwTwin *twin, DwSheet *sheet);

#endif
