// SPDX-License-Identifier: MIT
// A photograph, logo or signature as it goes into a PDF or onto a page: turned as it
// was held, no larger than needed, and without what else the file tells (where it was
// taken, by which device). The file itself is only read.
#ifndef DW_REPORT_PICTURE_H
#define DW_REPORT_PICTURE_H

#include "base/status.h"

#include <cairo.h>
#include <stddef.h>

typedef struct {
    cairo_surface_t *surface;
    double width, height; // pixels
} DwPicture;

// No picture with more pixels is decoded: a small file can claim to be a huge one.
enum { DW_PICTURE_PIXELS_MOST = 100000000 };

// Reads the PNG or JPEG at PATH, turned by TURN quarter turns clockwise after it was
// stood as it was held, made smaller where it has more than MOST pixels along either
// side. A file that is no such picture, is cut off or has too many pixels is
// DW_BAD_INPUT. The caller frees *PICTURE with dw_picture_free().
DwStatus dw_picture_read(const char *path, int most, int turn, DwPicture **picture, DwMessage *message);
void dw_picture_free(DwPicture *picture);
// Draws it as large as WIDTH × HEIGHT hold it; ALIGN 0 at their left, 0.5 in their middle.
void dw_picture_draw(const DwPicture *picture, cairo_t *cairo, double x, double y, double width, double height,
                     double align);

// A picture as a browser is given it.
typedef struct {
    char *bytes; // owned
    size_t length;
    const char *type;  // "image/jpeg", or "image/png" where it has transparent places
    int width, height; // of the whole picture, stood as it was held, before TURN and made smaller [pixels]
} DwPictureCopy;

// Reads as dw_picture_read() does and writes the picture anew. The caller frees
// copy->bytes with free().
DwStatus dw_picture_copy(const char *path, int most, int turn, DwPictureCopy *copy, DwMessage *message);

#endif
