// SPDX-License-Identifier: MIT
// Follows the marks of the disc through a film, frame by frame: feed, then ask. What is kept of a frame is some points
// of its marks' edges, a kilobyte or two; pictures are not kept.
#ifndef DW_SIGHT_FILM_TRACK_H
#define DW_SIGHT_FILM_TRACK_H

#include "sight/mark_finder.h"
#include "sight/plane.h"

enum {
    DW_FILM_FRAMES_MOST = 60000, // what comes after is passed over
    DW_FILM_MARKS_LEAST = 4,     // in a frame that counts
};

// The points of one mark's edges, as in DwMarkEdges.
typedef struct {
    float points[4][DW_EDGE_POINTS][2];
} DwFilmMark;

typedef struct {
    double time_s;
    double turn;      // of the disc since the first frame, roughly: within a degree [rad], clockwise as seen
    unsigned marks;   // bit N: the disc's Nth mark is seen
    DwFilmMark *seen; // one for each bit, the lowest first
    float black, white;
} DwFilmFrame;

typedef struct DwFilmTrack DwFilmTrack;

// The caller frees it with dw_film_track_free().
DwFilmTrack *dw_film_track_new(void);
void dw_film_track_free(DwFilmTrack *track);
// The next frame, shown at TIME_S; its picture is read before this returns.
void dw_film_track_push(DwFilmTrack *track, const DwGrey *grey, double time_s);

// The frames with enough marks; valid until the next push.
const DwFilmFrame *dw_film_track_frames(const DwFilmTrack *track, size_t *count);
// How many frames there were, and how many of them did not show enough marks.
size_t dw_film_track_pushed(const DwFilmTrack *track);
size_t dw_film_track_lost(const DwFilmTrack *track);
// The most marks that a frame showed, whether it counted or not.
size_t dw_film_track_most_marks(const DwFilmTrack *track);
// The paper in the film; false while none was seen.
bool dw_film_track_paper(const DwFilmTrack *track, DwMarkedPaper *paper);
// The size of its pictures; that of the first counts.
void dw_film_track_size(const DwFilmTrack *track, int *width, int *height);
// The map from the paper to the picture in the first frame that counts.
const DwPlane *dw_film_track_plane(const DwFilmTrack *track);

#endif
