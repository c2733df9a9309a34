// SPDX-License-Identifier: MIT
// Finds the marks of the papers in a picture and tells them apart by their codes.
#ifndef DW_SIGHT_MARK_FINDER_H
#define DW_SIGHT_MARK_FINDER_H

#include "base/paper_marks.h"
#include "sight/mark_edges.h"
#include "sight/plane.h"

typedef struct {
    DwMarkedPaper paper;
    DwPaperMark mark;
    DwPoint corners[4]; // upper left as it is drawn, then clockwise
    DwMarkEdges edges;
} DwMarkSeen;

typedef struct DwMarkFinder DwMarkFinder;

// The caller frees it with dw_mark_finder_free(). A finder is used by one thread at a time.
DwMarkFinder *dw_mark_finder_new(void);
void dw_mark_finder_free(DwMarkFinder *finder);

// The marks of the papers in GREY, at most MOST, looked for in the picture made DECIMATE times smaller, their edges in
// the picture as it is. Returned: how many.
// Reference: E. Olson, "AprilTag: a robust and flexible visual fiducial system", ICRA 2011, by its library.
size_t dw_mark_finder_find(DwMarkFinder *finder, const DwGrey *grey, double decimate, DwMarkSeen *seen, size_t most);

// The paper that most of COUNT marks SEEN are of; they are moved to the front. Returned: how many they are.
size_t dw_mark_finder_one_paper(DwMarkSeen *seen, size_t count, DwMarkedPaper *paper);

// The plane by the corners of COUNT marks SEEN of one paper: from the paper [mm] to the picture [pixels].
// Returned: false where they determine none.
bool dw_mark_finder_plane(const DwMarkSeen *seen, size_t count, DwPlane *plane);

// Whether the code within CORNERS is that of the mark NUMBER; BLACK and WHITE are its edges'.
bool dw_mark_finder_is(const DwMarkFinder *finder, const DwGrey *grey, const DwPoint corners[4], int number,
                       double black, double white);

#endif
