// SPDX-License-Identifier: MIT
// Straight edges near what was touched, found below a pixel: one, the middle of a thin bar, both sides of a tube.
#ifndef DW_SIGHT_EDGE_SNAP_H
#define DW_SIGHT_EDGE_SNAP_H

#include "sight/grey.h"

// What was touched: the line is not farther off at either end than OFF_PX. HALF_WIDTH_PX is the most that half of a bar
// or tube measures across; no matter for an edge. LINE_PX is how wide the dark lines are that are printed behind a bar,
// 0 where there are none: they are left out. LINE_WAY is how they run there, of length 1.
typedef struct {
    DwPoint from, to;
    double off_px, half_width_px, line_px;
    DwPoint line_way;
} DwTouchedLine;

typedef struct {
    DwPoint from, to; // the touched points moved across onto the line
    // Standard deviations across [pixels]: of the middle, and of how far one end lies beside the other. What shifts a
    // whole edge, such as light that spreads, does not turn it: neither follows from the other.
    double doubt, tilt_doubt;
} DwSnapped;

// A straight line fitted to an edge that the lens bends lies that share of the bend's height off the edge's ends: the
// mean of a parabola's height over what is looked at, all but a sixteenth at either end.
#define DW_SNAP_FIRST 0.06
#define DW_SNAP_BEND_SHARE (1 - (1 - 2 * DW_SNAP_FIRST) * (1 - 2 * DW_SNAP_FIRST) / 3)

// Looks for the edge that was TOUCHED.
//
// Returned: whether one stands out along half of its length or more.
// Method: the brightness's slope across, in pieces along; what lies behind may be darker here and lighter there, so the
// slope counts in each piece by its size. Of all lines that can be meant the steepest, those near the touched one
// counting more; refined by the middle of the slope in each piece and a line through them, strays left out by
// J. Tukey's biweight.
bool dw_edge_snap(const DwGrey *grey, const DwTouchedLine *touched, DwSnapped *snapped);

// Looks for the two sides of the tube whose middle was TOUCHED, EDGES[0] to the right of the way from its start to its
// end as the picture is seen (y down). Returned: whether both stand out.
bool dw_tube_snap(const DwGrey *grey, const DwTouchedLine *touched, DwSnapped edges[2]);

// Looks for the middle of the thin bar that was TOUCHED, such as a cantilever.
//
// Returned: whether one stands out, by 4 of 255 a pixel or more along most of its length.
// Method: the brightness's slope across, summed along all pairs of lines that can be meant, those near the touched one
// counting more, the weaker of the two edges deciding; the best is refined by the middle of the slope along eight
// pieces and a line through those that show one and the same edge.
bool dw_bar_snap(const DwGrey *grey, const DwTouchedLine *touched, DwSnapped *snapped);

#endif
