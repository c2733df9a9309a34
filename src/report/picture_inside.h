// SPDX-License-Identifier: MIT
// The decoding of a picture itself, for the program in the box (base/picture_box.h) alone.
#ifndef DW_REPORT_PICTURE_INSIDE_H
#define DW_REPORT_PICTURE_INSIDE_H

#include "base/picture_box.h"

#include <stdio.h>

// Reads the picture in FILE, which is at its beginning, as WISH says; never DW_PIXELS_BROKE. What is held of it goes as
// dw_picture_box_read() says.
DwPixelsEnd dw_picture_inside(FILE *file, const DwPixelsWish *wish, DwPixels *pixels);

#endif
