// SPDX-License-Identifier: MIT
#include "sight/film_track.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double wide_reach = 0.45, near_reach = 0.3; // of a mark's border
static const int large_picture = 1000;                   // pixels along the longer side
static const double steady_gap_s = 0.5;                  // after a longer one nothing is foreseen

struct DwFilmTrack {
    DwMarkFinder *finder;
    DwFilmFrame *frames;
    size_t count, room;
    size_t pushed, lost, most_marks;
    bool begun; // a disc was seen
    DwMarkedPaper paper;
    int width, height;
    DwPlane first, first_back; // of the first frame that counts, and what undoes it
    DwPlane last;              // of the last frame that counts
    double rate;               // of the turning at the last frame [rad/s]
};

// What one frame shows.
typedef struct {
    DwMarkSeen marks[DW_PAPER_MARKS_MOST];
    size_t count;
    DwPlane plane;
} Look;

DwFilmTrack *dw_film_track_new(void)
{
    DwFilmTrack *track = dw_memory_new(1, sizeof *track);
    track->finder = dw_mark_finder_new();
    return track;
}

void dw_film_track_free(DwFilmTrack *track)
{
    if (!track)
        return;
    for (size_t i = 0; i < track->count; i++)
        free(track->frames[i].seen);
    free(track->frames);
    dw_mark_finder_free(track->finder);
    free(track);
}

// Searches the whole picture.
static bool search(DwFilmTrack *track, const DwGrey *grey, Look *look)
{
    DwMarkSeen seen[DW_PAPER_MARKS_MOST * DW_MARKED_COUNT];
    int longer = grey->width > grey->height ? grey->width : grey->height;
    DwMarkedPaper paper;
    size_t count =
        dw_mark_finder_find(track->finder, grey, longer > large_picture ? 2 : 1, seen, sizeof seen / sizeof *seen);
    look->count = dw_mark_finder_one_paper(seen, count, &paper);
    if (!dw_marked_paper_is_full(paper)) // which of its marks are to be seen is not known
        return false;
    track->most_marks = look->count > track->most_marks ? look->count : track->most_marks;
    if (look->count < DW_FILM_MARKS_LEAST || (track->begun && paper != track->paper) ||
        !dw_mark_finder_plane(seen, look->count, &look->plane))
        return false;
    track->paper = paper;
    memcpy(look->marks, seen, look->count * sizeof *seen);
    return true;
}

// Looks for the marks where PLANE lets expect them.
static void look_about(const DwFilmTrack *track, const DwGrey *grey, const DwPlane *plane, double reach, bool read_code,
                       Look *look)
{
    look->count = 0;
    for (size_t i = 0; i < dw_paper_marks_count(track->paper); i++) {
        DwMarkSeen *seen = &look->marks[look->count];
        double corners[4][2];
        seen->paper = track->paper;
        seen->mark = dw_paper_mark(track->paper, i);
        dw_paper_mark_corners(&seen->mark, corners);
        for (size_t k = 0; k < 4; k++)
            seen->corners[k] = dw_plane_map(plane, (DwPoint){corners[k][0], corners[k][1]});
        if (!dw_mark_edges_find(grey, seen->corners, reach, &seen->edges) ||
            !dw_mark_edges_corners(&seen->edges, seen->corners))
            continue;
        if (!read_code || dw_mark_finder_is(track->finder, grey, seen->corners, seen->mark.number, seen->edges.black,
                                            seen->edges.white))
            look->count++;
    }
}

// Looks where the disc must have turned to since the last frame.
static bool follow(DwFilmTrack *track, const DwGrey *grey, double time_s, Look *look)
{
    if (track->count == 0)
        return false;
    double gap = time_s - track->frames[track->count - 1].time_s;
    if (!(gap > 0) || gap > steady_gap_s)
        return false;
    DwPlane foreseen = dw_plane_turned(&track->last, track->rate * gap);
    look_about(track, grey, &foreseen, wide_reach, true, look);
    track->most_marks = look->count > track->most_marks ? look->count : track->most_marks;
    if (look->count < DW_FILM_MARKS_LEAST || !dw_mark_finder_plane(look->marks, look->count, &look->plane))
        return false;
    look_about(track, grey, &look->plane, near_reach, false, look);
    return look->count >= DW_FILM_MARKS_LEAST && dw_mark_finder_plane(look->marks, look->count, &look->plane);
}

// How far the disc of PLANE is turned against that of the first frame, by some points of it.
static double turn_of(const DwFilmTrack *track, const DwPlane *plane)
{
    double along = 0, across = 0;
    for (size_t i = 0; i < dw_paper_marks_count(track->paper); i++) {
        DwPaperMark mark = dw_paper_mark(track->paper, i);
        DwPoint here = {mark.x_mm, mark.y_mm};
        DwPoint there = dw_plane_map(&track->first_back, dw_plane_map(plane, here));
        along += here.x * there.x + here.y * there.y;
        across += here.x * there.y - here.y * there.x;
    }
    return atan2(across, along);
}

static void keep_marks(const DwFilmTrack *track, const Look *look, DwFilmFrame *frame)
{
    int first = dw_paper_mark(track->paper, 0).number;
    double black = 0, white = 0;
    size_t kept = 0;
    frame->seen = dw_memory_new(look->count, sizeof *frame->seen);
    for (int index = 0; index < DW_PAPER_MARKS_MOST; index++)
        for (size_t i = 0; i < look->count; i++) {
            const DwMarkSeen *seen = &look->marks[i];
            if (seen->mark.number != first + index)
                continue;
            for (int side = 0; side < 4; side++)
                for (int point = 0; point < DW_EDGE_POINTS; point++) {
                    frame->seen[kept].points[side][point][0] = (float)seen->edges.points[side][point].x;
                    frame->seen[kept].points[side][point][1] = (float)seen->edges.points[side][point].y;
                }
            black += seen->edges.black / (double)look->count;
            white += seen->edges.white / (double)look->count;
            frame->marks |= 1u << index;
            kept++;
        }
    frame->black = (float)black;
    frame->white = (float)white;
}

static void keep(DwFilmTrack *track, const DwGrey *grey, double time_s, const Look *look)
{
    if (track->count == track->room) {
        track->room = track->room ? 2 * track->room : 256;
        track->frames = dw_memory_resize(track->frames, track->room, sizeof *track->frames);
    }
    DwFilmFrame frame = {.time_s = time_s};
    if (track->count == 0) {
        if (!dw_plane_inverse(&look->plane, &track->first_back))
            return;
        track->first = look->plane;
        track->begun = true;
        track->width = grey->width;
        track->height = grey->height;
    } else {
        const DwFilmFrame *last = &track->frames[track->count - 1];
        double foreseen = last->turn + track->rate * (time_s - last->time_s);
        double turn = turn_of(track, &look->plane);
        frame.turn = turn + 2 * M_PI * round((foreseen - turn) / (2 * M_PI));
        track->rate = (frame.turn - last->turn) / (time_s - last->time_s);
    }
    keep_marks(track, look, &frame);
    track->last = look->plane;
    track->frames[track->count++] = frame;
}

void dw_film_track_push(DwFilmTrack *track, const DwGrey *grey, double time_s)
{
    Look look;
    track->pushed++;
    bool late = track->count > 0 && !(time_s > track->frames[track->count - 1].time_s);
    bool other = track->begun && (grey->width != track->width || grey->height != track->height);
    if (late || other || track->count >= DW_FILM_FRAMES_MOST)
        track->lost++;
    else if (follow(track, grey, time_s, &look) || search(track, grey, &look))
        keep(track, grey, time_s, &look);
    else
        track->lost++;
}

const DwFilmFrame *dw_film_track_frames(const DwFilmTrack *track, size_t *count)
{
    *count = track->count;
    return track->frames;
}

size_t dw_film_track_pushed(const DwFilmTrack *track)
{
    return track->pushed;
}

size_t dw_film_track_lost(const DwFilmTrack *track)
{
    return track->lost;
}

size_t dw_film_track_most_marks(const DwFilmTrack *track)
{
    return track->most_marks;
}

bool dw_film_track_paper(const DwFilmTrack *track, DwMarkedPaper *paper)
{
    if (!track->begun)
        return false;
    *paper = track->paper;
    return true;
}

void dw_film_track_size(const DwFilmTrack *track, int *width, int *height)
{
    *width = track->width;
    *height = track->height;
}

const DwPlane *dw_film_track_plane(const DwFilmTrack *track)
{
    return &track->first;
}
