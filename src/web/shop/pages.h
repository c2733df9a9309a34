// SPDX-License-Identifier: MIT
// The shop's own pages: settings, devices, the door, copies of the book.
#ifndef DW_WEB_SHOP_PAGES_H
#define DW_WEB_SHOP_PAGES_H

#include "web/server/route.h"

extern const DwWebRoute dw_routes_app[];
extern const DwWebRoute dw_routes_backup[];
extern const DwWebRoute dw_routes_devices[];
extern const DwWebRoute dw_routes_enter[];
extern const DwWebRoute dw_routes_lock[];
extern const DwWebRoute dw_routes_months[];
extern const DwWebRoute dw_routes_people[];
extern const DwWebRoute dw_routes_settings[];
extern const DwWebRoute dw_routes_shop[];

#endif
