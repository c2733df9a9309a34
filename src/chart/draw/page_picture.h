// SPDX-License-Identifier: MIT
// A page of paper as a picture in grey, for whoever looks at it with a described camera.
#ifndef DW_CHART_PAGE_PICTURE_H
#define DW_CHART_PAGE_PICTURE_H

#include "chart/draw/pdf_page.h"

#include <stdint.h>

// 0 is black, 255 white. The caller frees PIXELS with free().
typedef struct {
    int width, height;
    double per_mm;             // pixels
    double origin_x, origin_y; // of what the paper counts its millimetres from, in pixels
    uint8_t *pixels;
} DwPagePicture;

// Draws page 0 of DRAW, WIDTH_MM by HEIGHT_MM, with PER_MM pixels a millimetre. Its origin is left at the upper left
// corner. DW_FAILED where there is no memory for it.
DwStatus dw_page_picture_draw(double width_mm, double height_mm, double per_mm, DwPdfDraw draw, const void *context,
                              DwPagePicture *picture, DwMessage *message);

#endif
