// SPDX-License-Identifier: MIT
// Photographs of a job.
#ifndef DW_WEB_PHOTO_PAGES_H
#define DW_WEB_PHOTO_PAGES_H

#include "web/server/route.h"

extern const DwWebRoute dw_routes_photo[];
extern const DwWebRoute dw_routes_photo_frame[];
extern const DwWebRoute dw_routes_photo_measure[];
extern const DwWebRoute dw_routes_photos[];
extern const DwWebRoute dw_routes_picture[];

#endif
