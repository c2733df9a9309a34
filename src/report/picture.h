// SPDX-License-Identifier: MIT
// A photograph, logo or signature as it goes into a PDF or onto a page: turned as it
// was held, no larger than needed, and without what else the file tells (where it was
// taken, by which device). The file itself is only read.
#ifndef DW_REPORT_PICTURE_H
#define DW_REPORT_PICTURE_H

#include "base/status.h"
#include "book/store/record.h"

#include <cairo.h>
#include <stdbool.h>
#include <stddef.h>

typedef struct {
    cairo_surface_t *surface;
    double width, height;          // pixels
    int whole_width, whole_height; // of the whole picture, stood as it was held, before it was turned and made smaller
} DwPicture;

// No picture with more pixels is decoded: a small file can claim to be a huge one.
enum { DW_PICTURE_PIXELS_MOST = 100000000 };

// Reads the PNG or JPEG at PATH, turned by TURN quarter turns clockwise after it was
// stood as it was held, made smaller where it has more than MOST pixels along either
// side. A file that is no such picture, is cut off or has too many pixels is
// DW_BAD_INPUT. The caller frees *PICTURE with dw_picture_free().
DwStatus dw_picture_read(const char *path, int most, int turn, DwPicture **picture, DwMessage *message);
void dw_picture_free(DwPicture *picture);
// Gives PICTURE the opaque pixels of SURFACE, which it takes over, in place of its own.
void dw_picture_replace(DwPicture *picture, cairo_surface_t *surface);
// Whether anything of MARKS (of dw_photo_measure_entity) changes how a paper shows the picture.
bool dw_picture_is_marked(const DwRecords *marks);
// Cuts PICTURE, which stands turned by TURN, makes it lighter and draws its arrows, circles and words as MARKS say; it
// then has at most MOST pixels along either side. Where there is no memory for it, it stays as it is.
void dw_picture_mark(DwPicture *picture, const DwRecords *marks, int turn, int most);
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
