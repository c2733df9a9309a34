// SPDX-License-Identifier: MIT
#include "sight/mark_finder.h"

#include "base/memory.h"

#include <apriltag/apriltag.h>
#include <apriltag/tag36h11.h>
#include <math.h>
#include <stdlib.h>

enum { CELLS = 6, WITH_BORDERS = 10, WRONG_CELLS_MOST = 3 };

static const double look_reach = 0.45; // of the border, for the edges of a mark just found

struct DwMarkFinder {
    apriltag_family_t *family;
    apriltag_detector_t *detector;
};

DwMarkFinder *dw_mark_finder_new(void)
{
    DwMarkFinder *finder = dw_memory_new(1, sizeof *finder);
    finder->family = tag36h11_create();
    finder->detector = apriltag_detector_create();
    apriltag_detector_add_family_bits(finder->detector, finder->family, 1);
    finder->detector->nthreads = 1;
    finder->detector->refine_edges = true;
    return finder;
}

void dw_mark_finder_free(DwMarkFinder *finder)
{
    if (!finder)
        return;
    apriltag_detector_destroy(finder->detector);
    tag36h11_destroy(finder->family);
    free(finder);
}

// Takes what the library found, if it is one of ours and its edges are sharp.
static bool take(const DwGrey *grey, const apriltag_detection_t *found, DwMarkSeen *seen)
{
    DwMarkSeen made;
    if (!dw_paper_mark_find(found->id, &made.paper, &made.mark))
        return false;
    for (int i = 0; i < 4; i++) // the library begins at the lower left and goes the other way round
        made.corners[i] = (DwPoint){found->p[3 - i][0], found->p[3 - i][1]};
    if (!dw_mark_edges_find(grey, made.corners, look_reach, &made.edges) ||
        !dw_mark_edges_corners(&made.edges, made.corners))
        return false;
    *seen = made;
    return true;
}

// Whether SEEN, of which COUNT are known, holds the number of MARK already: a reflection or a second print.
static DwMarkSeen *same_number(DwMarkSeen *seen, size_t count, int number)
{
    for (size_t i = 0; i < count; i++)
        if (seen[i].mark.number == number)
            return &seen[i];
    return NULL;
}

size_t dw_mark_finder_find(DwMarkFinder *finder, const DwGrey *grey, double decimate, DwMarkSeen *seen, size_t most)
{
    size_t count = 0;
    image_u8_t picture = {.width = grey->width,
                          .height = grey->height,
                          .stride = grey->stride,
                          .buf = (uint8_t *)(uintptr_t)grey->pixels};
    finder->detector->quad_decimate = (float)decimate;
    zarray_t *all = apriltag_detector_detect(finder->detector, &picture);
    for (int i = 0; i < zarray_size(all); i++) {
        apriltag_detection_t *found;
        DwMarkSeen made;
        zarray_get(all, i, &found);
        if (found->hamming <= 1 && found->decision_margin > 20 && count < most && take(grey, found, &made) &&
            !same_number(seen, count, made.mark.number))
            seen[count++] = made;
    }
    apriltag_detections_destroy(all);
    return count;
}

size_t dw_mark_finder_one_paper(DwMarkSeen *seen, size_t count, DwMarkedPaper *paper)
{
    size_t of[DW_MARKED_COUNT] = {0}, kept = 0;
    DwMarkedPaper most = 0;
    for (size_t i = 0; i < count; i++)
        of[seen[i].paper]++;
    for (DwMarkedPaper which = 0; which < DW_MARKED_COUNT; which++)
        if (of[which] > of[most])
            most = which;
    for (size_t i = 0; i < count; i++)
        if (seen[i].paper == most)
            seen[kept++] = seen[i];
    *paper = most;
    return kept;
}

bool dw_mark_finder_is(const DwMarkFinder *finder, const DwGrey *grey, const DwPoint corners[4], int number,
                       double black, double white)
{
    static const DwPoint square[] = {{0, 0}, {8, 0}, {8, 8}, {0, 8}};
    DwPlane plane;
    if (!dw_plane_fit(square, corners, 4, &plane))
        return false;
    image_u8_t *code = apriltag_to_image(finder->family, (uint32_t)number);
    int wrong = 0;
    for (int y = 0; y < CELLS; y++)
        for (int x = 0; x < CELLS; x++) {
            bool is_white = dw_grey_at(grey, dw_plane_map(&plane, (DwPoint){x + 1.5, y + 1.5})) > (black + white) / 2;
            wrong += is_white != (code->buf[(y + 2) * code->stride + x + 2] != 0);
        }
    free(code->buf);
    free(code);
    return wrong <= WRONG_CELLS_MOST;
}

bool dw_mark_finder_plane(const DwMarkSeen *seen, size_t count, DwPlane *plane)
{
    DwPoint from[4 * DW_PAPER_MARKS_MOST], to[4 * DW_PAPER_MARKS_MOST];
    for (size_t i = 0; i < count; i++) {
        double corners[4][2];
        dw_paper_mark_corners(&seen[i].mark, corners);
        for (size_t k = 0; k < 4; k++) {
            from[4 * i + k] = (DwPoint){corners[k][0], corners[k][1]};
            to[4 * i + k] = seen[i].corners[k];
        }
    }
    return count >= 1 && dw_plane_fit(from, to, 4 * count, plane);
}
