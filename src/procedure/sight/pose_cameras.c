// SPDX-License-Identifier: MIT
#include "procedure/sight/pose_cameras.h"

#include "procedure/sight/photo_marks.h"

#include <math.h>

enum { MARKS_LEAST = 3 };

static const double least_deg = 8, good_deg = 30, most_rest_px = 2;

static void look(const char *path, DwMarkFinder *finder, DwBundlePhoto *photo, DwMarkedPaper *paper, DwPoseSeen *seen)
{
    DwPhoto picture;
    DwMessage message;
    DwStatus status = dw_photo_marks_read(path, finder, 1, &picture, photo->marks, &photo->count, paper, &message);
    if (status != DW_OK) {
        seen->want = DW_POSE_WANTS_A_PAPER;
        return;
    }
    photo->width = picture.grey.width;
    photo->height = picture.grey.height;
    dw_photo_clear(&picture);
    seen->marks = photo->count;
    seen->of = dw_marked_paper_is_full(*paper) ? dw_paper_marks_count(*paper) : 0;
    if (seen->marks < MARKS_LEAST)
        seen->want = DW_POSE_WANTS_MARKS;
}

// The way from camera A to camera B about the middle of the paper, seen from above: positive to the right of who stands
// at A [degrees]; and how far apart they are in space.
static double way_between(DwPlace a, DwPlace b, DwPlace about, double *apart_deg)
{
    double ax = a.x - about.x, ay = a.y - about.y, bx = b.x - about.x, by = b.y - about.y;
    double dot = ax * bx + ay * by + a.z * b.z;
    double sizes = sqrt((ax * ax + ay * ay + a.z * a.z) * (bx * bx + by * by + b.z * b.z));
    *apart_deg = acos(fmax(-1, fmin(1, dot / sizes))) * 180 / M_PI;
    // y runs down the page: who stands below the middle and looks up the page has x to the right.
    return -atan2(ax * by - ay * bx, ax * bx + ay * by) * 180 / M_PI;
}

// What the two cameras farthest apart still want.
static void want_apart(const DwBundled *bundled, const DwBundle *bundle, DwPoseCameras *cameras)
{
    DwPlace about = {0, 0, 0};
    const DwBundlePhoto *first = &bundle->photos[0];
    double most = 0, way = 0;
    for (size_t i = 0; i < first->count; i++) {
        about.x += first->marks[i].mark.x_mm / (double)first->count;
        about.y += first->marks[i].mark.y_mm / (double)first->count;
    }
    for (size_t i = 1; i < bundle->photo_count; i++)
        for (size_t k = 0; k < i; k++) {
            double apart,
                round = way_between(dw_bundled_camera(bundled, k), dw_bundled_camera(bundled, i), about, &apart);
            if (apart > most) {
                most = apart;
                way = round;
            }
        }
    if (most >= good_deg)
        return;
    if (most < least_deg)
        cameras->want = DW_POSE_WANTS_A_SIDE;
    else if (way > 0)
        cameras->want = DW_POSE_WANTS_THE_RIGHT;
    else
        cameras->want = DW_POSE_WANTS_THE_LEFT;
}

// Of a paper each print of which has its own marks, there are as many as all photographs show together.
static void count_together(const DwBundle *bundle, DwPoseCameras *cameras)
{
    size_t all = 0;
    for (size_t i = 0; i < bundle->photo_count; i++)
        for (size_t k = 0; k < bundle->photos[i].count; k++) {
            int number = bundle->photos[i].marks[k].mark.number;
            bool known = false;
            for (size_t before = 0; before < i && !known; before++)
                for (size_t m = 0; m < bundle->photos[before].count && !known; m++)
                    known = bundle->photos[before].marks[m].mark.number == number;
            all += !known;
        }
    for (size_t i = 0; i < bundle->photo_count; i++)
        cameras->photos[i].of = all;
}

static void place_cameras(const DwBundle *bundle, DwPoseCameras *cameras)
{
    DwBundled *bundled = dw_bundle_adjust(bundle);
    cameras->placed = bundled && dw_bundled_rest(bundled) <= most_rest_px;
    if (!cameras->placed)
        cameras->want = DW_POSE_WANTS_IT_FLAT;
    for (size_t i = 0; i < bundle->photo_count && cameras->placed; i++)
        cameras->photos[i].camera = dw_bundled_lens(bundled, bundle, i);
    if (cameras->placed && bundle->photo_count < 2)
        cameras->want = DW_POSE_WANTS_A_SECOND;
    else if (cameras->placed)
        want_apart(bundled, bundle, cameras);
    dw_bundled_free(bundled);
}

void dw_pose_cameras_read(const char *const *paths, size_t count, DwPoseCameras *cameras)
{
    DwBundle bundle = {.scale = 1};
    DwMarkedPaper first = 0, paper = 0;
    bool serve = true, same = true;
    DwMarkFinder *finder = dw_mark_finder_new();
    *cameras = (DwPoseCameras){.count = count < DW_BUNDLE_PHOTOS_MOST ? count : DW_BUNDLE_PHOTOS_MOST};
    for (size_t i = 0; i < cameras->count; i++) {
        look(paths[i], finder, &bundle.photos[i], &paper, &cameras->photos[i]);
        serve = serve && cameras->photos[i].want == DW_POSE_WANTS_NOTHING;
        first = i == 0 ? paper : first;
        same = same && paper == first;
    }
    bundle.photo_count = cameras->count;
    dw_mark_finder_free(finder);
    if (same && cameras->count > 0 && !dw_marked_paper_is_full(first))
        count_together(&bundle, cameras);
    if (serve && !same)
        cameras->want = DW_POSE_WANTS_ONE_PAPER;
    else if (serve)
        place_cameras(&bundle, cameras);
}
