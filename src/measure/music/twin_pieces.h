// SPDX-License-Identifier: MIT
// The points of a course that count, and straight pieces under them: what a line or a drift is fitted beside. Within
// this room only.
#ifndef DW_MEASURE_TWIN_PIECES_H
#define DW_MEASURE_TWIN_PIECES_H

#include "measure/music/twin_course.h"

typedef struct {
    size_t count, knots;
    double window_s; // that each point was read over
    double *t, *y, *w;
    double bend, middle_s; // how fast the turn's rate rises, as a share a second, and where it is the rate
    size_t *knot;          // the knot before each point
    double *place;         // from it to the next, 0 … 1
    double *knot_t;
    unsigned *piece;
    double *diagonal, *beside, *right; // of the knots' normal equations, decomposed; room for a right side
    double *a, *b, *rest;              // room for columns
} DwTwinPieces;

// Of the points of COURSE that are used: how far each is ahead of RATIO seconds of the second for one of the first [s].
// KNOT_S: from knot to knot. Returned: false, with nothing to clear, where they are too few.
bool dw_twin_pieces_init(const DwTwinCourse *course, double ratio, double knot_s, DwTwinPieces *work);
void dw_twin_pieces_clear(DwTwinPieces *work);
// Lays the knots anew, after points were left out.
void dw_twin_pieces_lay(DwTwinPieces *work, double knot_s);
// The knots' values of the straight pieces through VALUES, one a point, into work->right.
void dw_twin_pieces_fit(DwTwinPieces *work, const double *values);
// Leaves of VALUES what is beside those.
void dw_twin_pieces_take_out(DwTwinPieces *work, double *values);

#endif
