// SPDX-License-Identifier: MIT
// Where the four edges of a mark's black square run, to some hundredths of a pixel.
#ifndef DW_SIGHT_MARK_EDGES_H
#define DW_SIGHT_MARK_EDGES_H

#include "sight/grey.h"

enum {
    DW_EDGE_POINTS = 4, // along each edge
};

// Points of the edges: upper, right, lower, left as the mark is drawn, each along the square clockwise.
typedef struct {
    DwPoint points[4][DW_EDGE_POINTS];
    double black, white; // brightness within and without
} DwMarkEdges;

// Which share of its edge the INDEXth point lies at.
double dw_mark_edge_share(size_t index);

// Looks for the edges about the square that CORNERS (upper left as it is drawn, then clockwise) tell, not farther off
// than REACH of the border's width, 0.45 at most.
//
// Returned: whether all four edges are there, dark within and light without.
// Method: brightness across the edge, averaged along a piece of it; the edge lies where a sharp step would make the
// same sum. An even blur on both sides of the edge does not move it.
// Accuracy: 0.02 pixels for a noise of 2 of 255 and an edge of 60 pixels.
bool dw_mark_edges_find(const DwGrey *grey, const DwPoint corners[4], double reach, DwMarkEdges *edges);

// The corners where EDGES meet, as straight lines.
bool dw_mark_edges_corners(const DwMarkEdges *edges, DwPoint corners[4]);

#endif
