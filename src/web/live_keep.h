// SPDX-License-Identifier: MIT
// Keeping what was heard: as the sheet that a recording of it gives, as the
// recording, or as the clock error of a recording chain.
#ifndef DW_WEB_LIVE_KEEP_H
#define DW_WEB_LIVE_KEEP_H

#include "procedure/live_session.h"
#include "web/visit.h"

// The bar at the thumb, the form behind it, and that of the clock.
void dw_live_keep_write(DwVisit *visit, const DwLiveSnapshot *snapshot);

#endif
