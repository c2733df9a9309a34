// SPDX-License-Identifier: MIT
// Measures a stretch of a live take by the procedure that measures files. Of live_session only.
#ifndef DW_PROCEDURE_LIVE_KEEP_H
#define DW_PROCEDURE_LIVE_KEEP_H

#include "procedure/live/live_session.h"
#include "procedure/live/live_take.h"

// A place of the take before which sound is missing.
typedef struct {
    uint64_t place; // frames from the start of the take
    double lost_s;  // how much, and held by silence in the take; 0: less than can be told
    bool is_apart;  // the device was away: what follows is another stretch
} DwLiveGap;

// What a stretch is cut from.
typedef struct {
    DwLiveTake *take;
    const char *folder, *input;
    double rate_hz;
    const DwLiveGap *gaps;
    size_t gap_count;
    const DwSourceOrigin *origin; // NULL: a recording or the tone
    const DwLiveClock *clock;
} DwLiveKeepFrom;

// As dw_live_session_keep().
DwStatus dw_live_keep(const DwLiveKeepFrom *from, const DwLiveKeep *keep, DwSheet **sheet, DwMessage *message);

#endif
