// SPDX-License-Identifier: MIT
// A live snapshot as JSON, to be sent as it is. The keys are in docs/methods/live.md.
#ifndef DW_PROCEDURE_LIVE_JSON_H
#define DW_PROCEDURE_LIVE_JSON_H

#include "procedure/live/live_session.h"

// Of the raster, the turns from FROM_TURN on that are still held; the last one
// grows. A reader that has turn t complete asks for t + 1 next. The caller frees
// it with free().
char *dw_live_snapshot_json(const DwLiveSnapshot *snapshot, uint64_t from_turn);
// What changes once a second, as docs/methods/live.md says: the speed of the last ten minutes from second
// FROM_SECOND on, and the flutter by frequency. The caller frees it with free().
char *dw_live_slow_json(const DwLiveSnapshot *snapshot, uint64_t from_second);

#endif
