// SPDX-License-Identifier: MIT
// Papers and signatures.
#ifndef DW_WEB_PAPER_PAGES_H
#define DW_WEB_PAPER_PAGES_H

#include "web/server/route.h"

extern const DwWebRoute dw_routes_papers[];
extern const DwWebRoute dw_routes_sign[];

#endif
