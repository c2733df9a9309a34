// SPDX-License-Identifier: MIT
// Touching in photographs what is to be measured from them.
#ifndef DW_WEB_TOUCH_PAGES_H
#define DW_WEB_TOUCH_PAGES_H

#include "web/server/route.h"

extern const DwWebRoute dw_routes_touch[];

#endif
