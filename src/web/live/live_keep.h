// SPDX-License-Identifier: MIT
// Keeping what was heard: as the sheet that a recording of it gives, as the
// recording, or as the clock error of a recording chain.
#ifndef DW_WEB_LIVE_KEEP_H
#define DW_WEB_LIVE_KEEP_H

#include "procedure/live/live_session.h"
#include "web/server/visit.h"

// The bar at the thumb and the form behind it.
void dw_live_keep_write(DwVisit *visit);
// The form that keeps the clock's error, as soon as it is known.
void dw_live_keep_write_clock(DwVisit *visit, const DwLiveSnapshot *snapshot);

#endif
