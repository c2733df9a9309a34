// SPDX-License-Identifier: MIT
// Measures a stretch of a live take by the procedure that measures files. Of live_session only.
#ifndef DW_PROCEDURE_LIVE_KEEP_H
#define DW_PROCEDURE_LIVE_KEEP_H

#include "procedure/live/live_course.h"
#include "procedure/live/live_take.h"

// What a stretch is cut from.
typedef struct {
    DwLiveTake *take;
    const char *folder, *input;
    double rate_hz;
    const DwLiveCourse *course;
    const DwSourceOrigin *origin; // all zero of a recording or the tone
    const DwLiveClock *clock;
} DwLiveKeepFrom;

// As dw_live_session_keep().
DwStatus dw_live_keep(const DwLiveKeepFrom *from, const DwLiveKeep *keep, DwSheet **sheet, DwMessage *message);

#endif
