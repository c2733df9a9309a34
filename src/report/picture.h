// SPDX-License-Identifier: MIT
// A photograph, logo or signature as it goes into a PDF: turned as it was held,
// no larger than print can show, and still compressed where it was a photograph.
#ifndef DW_REPORT_PICTURE_H
#define DW_REPORT_PICTURE_H

#include "base/status.h"

#include <cairo.h>

typedef struct {
    cairo_surface_t *surface;
    double width, height; // pixels
} DwPicture;

// Reads the PNG or JPEG (or whatever the system can read) at PATH, made smaller
// where it has more than MOST pixels along either side. A file that is no picture is
// DW_BAD_INPUT. The caller frees *PICTURE with dw_picture_free().
DwStatus dw_picture_read(const char *path, int most, DwPicture **picture, DwMessage *message);
void dw_picture_free(DwPicture *picture);
// Draws it as large as WIDTH × HEIGHT hold it; ALIGN 0 at their left, 0.5 in their middle.
void dw_picture_draw(const DwPicture *picture, cairo_t *cairo, double x, double y, double width, double height,
                     double align);

#endif
