// SPDX-License-Identifier: MIT
// The live page: what comes in now, and keeping it.
#ifndef DW_WEB_LIVE_PAGES_H
#define DW_WEB_LIVE_PAGES_H

#include "web/server/route.h"

extern const DwWebRoute dw_routes_live[];
extern const DwWebRoute dw_routes_live_keep[];

#endif
