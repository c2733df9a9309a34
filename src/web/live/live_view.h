// SPDX-License-Identifier: MIT
// The figures of the live page: as they stand in a snapshot, in words, with the
// marks that the page's script moves.
#ifndef DW_WEB_LIVE_VIEW_H
#define DW_WEB_LIVE_VIEW_H

#include "procedure/live/live_session.h"
#include "web/server/visit.h"

// The large figure and its bar.
void dw_live_view_write_speed(DwVisit *visit, const DwLiveSnapshot *snapshot);
void dw_live_view_write_raster(DwVisit *visit);
// Everything below it.
void dw_live_view_write_rest(DwVisit *visit, const DwLiveSnapshot *snapshot);
// Why the figures are not of now, or what is captured.
const char *dw_live_view_state(const DwLiveSnapshot *snapshot);

#endif
