// SPDX-License-Identifier: MIT
// The inner outline of a dark ring on light ground, below a pixel.
#ifndef DW_SIGHT_OUTLINE_H
#define DW_SIGHT_OUTLINE_H

#include "sight/grey.h"

typedef struct {
    DwPoint *points; // owned; round the ring, closed
    double *widths;  // owned: from each point outwards to where it is light again [pixels]; NAN where it is not seen
    size_t count;
    double other; // the largest area besides that a dark ring shuts off [pixels]; 0 where there is none
} DwOutline;

// Finds in GREY the largest light area that a dark ring shuts off from the border, and traces it.
//
// Returned: false where there is none of LEAST_AREA pixels. The caller frees what OUTLINE holds with
// dw_outline_clear().
// Method: GREY is of light, not of a picture's encoded brightness. Light and dark part at half way between the ground
// about a place and the dark, which is the ring's own where that is not black; the outline runs where the light, as it
// is between the pixels, passes that ("marching squares", W. Lorensen, H. Cline, 1987).
bool dw_outline_find(const DwGrey *grey, double least_area, DwOutline *outline);
void dw_outline_clear(DwOutline *outline);

#endif
