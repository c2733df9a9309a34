// SPDX-License-Identifier: MIT
// Measuring: forms and sheets.
#ifndef DW_WEB_MEASURE_PAGES_H
#define DW_WEB_MEASURE_PAGES_H

#include "web/server/route.h"

extern const DwWebRoute dw_routes_ears[];
extern const DwWebRoute dw_routes_measure[];
extern const DwWebRoute dw_routes_sheet[];
extern const DwWebRoute dw_routes_sheet_files[];
extern const DwWebRoute dw_routes_sheet_supply[];

#endif
