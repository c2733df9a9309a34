// SPDX-License-Identifier: MIT
// A piece of a picture without the thin dark lines that are printed there.
#ifndef DW_SIGHT_THIN_LINES_H
#define DW_SIGHT_THIN_LINES_H

#include "sight/grey.h"

typedef struct {
    DwGrey grey;      // its pixels are the caller's, to be freed with dw_thin_lines_clear()
    DwGrey filled;    // 255 where it was filled, else 0
    double left, top; // where its corner lies in the picture
} DwWithoutLines;

// The piece of GREY from LEAST to MOST, its dark lines of LINE_PX and less across filled with what lies to both sides
// of them; what is wider stays as it is.
//
// Returned: false where the piece is too large or lies outside the picture.
// Method: a closing by a disc as wide as the line and its blur; what it fills counts where it stands out from the
// noise, which it fills as well. Reference: J. Serra, "Image analysis and mathematical morphology", 1982.
bool dw_thin_lines_leave_out(const DwGrey *grey, DwPoint least, DwPoint most, double line_px, DwWithoutLines *made);
void dw_thin_lines_clear(DwWithoutLines *made);

#endif
