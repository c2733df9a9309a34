// SPDX-License-Identifier: MIT
// Whatever the book keeps, its lists and forms.
#ifndef DW_WEB_RECORD_PAGES_H
#define DW_WEB_RECORD_PAGES_H

#include "web/server/route.h"

extern const DwWebRoute dw_routes_book[];
extern const DwWebRoute dw_routes_customer[];
extern const DwWebRoute dw_routes_find[];
extern const DwWebRoute dw_routes_merge[];
extern const DwWebRoute dw_routes_record[];

#endif
