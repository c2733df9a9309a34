// SPDX-License-Identifier: MIT
// What of a JPEG or PNG file shows the picture. A file may carry any number of
// texts, profiles and small pictures beside it, packed to a thousandth of what
// they unpack to: the decoders would keep them all, or look through them again
// with each block read. They are left out before any decoder sees them.
#ifndef DW_REPORT_PICTURE_ESSENCE_H
#define DW_REPORT_PICTURE_ESSENCE_H

#include <stdbool.h>
#include <stdio.h>

// Takes LENGTH bytes; false ends it.
typedef bool (*DwPictureTake)(void *user, const unsigned char *bytes, size_t length);

// Hands the essence of FILE, which is at its beginning, to TAKE: the picture, its
// size and colours, and how the camera was held. A file that was cut off is handed
// over as far as it goes. Returned: false when TAKE ended it or the file has more
// parts than any camera or program writes. In one pass, with bounded memory.
bool dw_picture_essence(FILE *file, DwPictureTake take, void *user);

#endif
