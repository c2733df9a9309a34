// SPDX-License-Identifier: MIT
// A picture as the marks are read from it: its brightness alone. The point (0, 0) is the upper left corner of the
// first pixel, whose middle lies at (0.5, 0.5).
#ifndef DW_SIGHT_GREY_H
#define DW_SIGHT_GREY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct {
    int width, height;
    int stride; // bytes from one row to the next
    const uint8_t *pixels;
} DwGrey;

typedef struct {
    double x, y;
} DwPoint;

// The brightness at AT between the four pixels about it; the border's beyond the border.
double dw_grey_at(const DwGrey *grey, DwPoint at);
// The light at AT between the four pixels about it, whose brightness was written down from it as pictures are; 0 to
// 255. Where a lens blurs an edge, the light's slope lies evenly about it; the brightness's lies to the side of the
// darker. Reference: IEC 61966-2-1:1999 (sRGB), 5.2, its encoding undone; a telephone's own differs a little from it.
double dw_grey_light_at(const DwGrey *grey, DwPoint at);
// The light of a pixel of BRIGHTNESS, 0 to 255.
double dw_grey_light_of(uint8_t brightness);
// Whether AT lies in the picture, MARGIN pixels or more from its border.
bool dw_grey_holds(const DwGrey *grey, DwPoint at, double margin);

#endif
