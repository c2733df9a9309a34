// SPDX-License-Identifier: MIT
// A photograph, as its brightness, stood as it was held.
#ifndef DW_SIGHT_PHOTO_H
#define DW_SIGHT_PHOTO_H

#include "base/status.h"
#include "sight/grey.h"

typedef struct {
    DwGrey grey;
    uint8_t *pixels; // owned
} DwPhoto;

enum { DW_PHOTO_PIXELS_MOST = 64000000 };

// Reads the JPEG, PNG or HEIC at PATH. What is no picture, cut off, too large or too small is DW_BAD_INPUT with one
// line. The caller frees what PHOTO holds with dw_photo_clear().
DwStatus dw_photo_read(const char *path, DwPhoto *photo, DwMessage *message);
void dw_photo_clear(DwPhoto *photo);

#endif
