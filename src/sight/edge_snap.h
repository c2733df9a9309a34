// SPDX-License-Identifier: MIT
// A straight edge, or a thin bar's middle, between two touched points, found below a pixel.
#ifndef DW_SIGHT_EDGE_SNAP_H
#define DW_SIGHT_EDGE_SNAP_H

#include "sight/grey.h"

// What was touched: the line is not farther off at either end than OFF_PX. HALF_WIDTH_PX is the most that half of a bar
// measures across, such as a cantilever; 0 for the edge between dark and light.
typedef struct {
    DwPoint from, to;
    double off_px, half_width_px;
} DwTouchedLine;

typedef struct {
    DwPoint from, to; // the touched points moved across onto the line
    double doubt;     // standard deviation of either, across [pixels]
} DwSnapped;

// Looks for the edge that was TOUCHED, or the middle of the bar.
//
// Returned: whether one stands out, by 4 of 255 a pixel or more along most of its length.
// Method: the brightness's slope across, summed along all lines that can be meant, those near the touched one counting
// more, of a bar the weaker of its two edges; the best is refined by the middle of the slope along eight pieces and a
// line through those that show one and the same edge.
bool dw_edge_snap(const DwGrey *grey, const DwTouchedLine *touched, DwSnapped *snapped);

#endif
