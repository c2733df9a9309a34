// SPDX-License-Identifier: MIT
// A straight edge, or a thin bar's middle, between two touched points, found below a pixel.
#ifndef DW_SIGHT_EDGE_SNAP_H
#define DW_SIGHT_EDGE_SNAP_H

#include "sight/grey.h"

typedef enum {
    DW_SNAP_EDGE, // where dark meets light
    DW_SNAP_BAR,  // the middle between two edges of opposite kind, such as a cantilever's
} DwSnapKind;

typedef struct {
    DwPoint from, to; // the touched points moved across onto the line
    double doubt;     // standard deviation of either, across [pixels]
} DwSnapped;

// Looks for the line between FROM and TO, not more than REACH pixels beside either.
//
// Returned: whether one stands out, by 6 of 255 or more along most of its length.
// Method: the brightness's slope across, summed along all lines from a point beside FROM to one beside TO; the best is
// refined by the middle of the slope along eight pieces and a line through those.
bool dw_edge_snap(const DwGrey *grey, DwPoint from, DwPoint to, double reach, DwSnapKind kind, DwSnapped *snapped);

#endif
