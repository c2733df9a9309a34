// SPDX-License-Identifier: MIT
// What the adjustment of a bundle starts from: cameras by the planes of the marks' corners, then what was touched.
#include "sight/bundle_inside.h"
#include "sight/plane.h"

#include <math.h>

// The plane of PHOTO: from the paper [100 mm] to the picture [half its diagonal].
static bool plane_of(const DwBundleAdjustment *a, const DwBundlePhoto *photo, DwPlane *plane)
{
    DwPoint from[4 * DW_PAPER_MARKS_MOST], to[4 * DW_PAPER_MARKS_MOST];
    double half = hypot(photo->width, photo->height) / 2, scale = a->bundle->scale / DW_BUNDLE_UNIT_MM;
    for (size_t i = 0; i < photo->count; i++) {
        double corners[4][2];
        dw_paper_mark_corners(&photo->marks[i].mark, corners);
        for (size_t k = 0; k < 4; k++) {
            DwPoint seen = photo->marks[i].corners[k];
            from[4 * i + k] = (DwPoint){corners[k][0] * scale, corners[k][1] * scale};
            to[4 * i + k] = (DwPoint){(seen.x - photo->width / 2.0) / half, (seen.y - photo->height / 2.0) / half};
        }
    }
    return dw_plane_fit(from, to, 4 * photo->count, plane);
}

// The rotation vector of the matrix with the columns X, Y and their cross.
static void vector_of(const double x[3], const double y[3], double *turn)
{
    const double z[] = {x[1] * y[2] - x[2] * y[1], x[2] * y[0] - x[0] * y[2], x[0] * y[1] - x[1] * y[0]};
    double c = (x[0] + y[1] + z[2] - 1) / 2, angle = acos(fmax(-1, fmin(1, c)));
    double axis[] = {y[2] - z[1], z[0] - x[2], x[1] - y[0]};
    double size = sqrt(axis[0] * axis[0] + axis[1] * axis[1] + axis[2] * axis[2]);
    if (size < 1e-6) { // no turn, or half of one: the axis is then where the matrix leaves a vector as it is
        const double half[] = {sqrt(fmax(0, (x[0] + 1) / 2)), 0, 0};
        axis[0] = half[0];
        axis[1] = axis[0] > 0.01 ? (x[1] + y[0]) / (4 * axis[0]) : sqrt(fmax(0, (y[1] + 1) / 2));
        axis[2] = axis[0] > 0.01 ? (x[2] + z[0]) / (4 * axis[0]) : axis[1] > 0.01 ? (y[2] + z[1]) / (4 * axis[1]) : 1;
        size = c > 0 ? INFINITY : 1;
    }
    for (int i = 0; i < 3; i++)
        turn[i] = axis[i] / size * angle;
}

// Place and turn of a camera of focal length FOCUS that sees the paper by PLANE.
static void place_camera(const DwPlane *plane, double focus, double *own)
{
    double x[] = {plane->a / focus, plane->d / focus, plane->g}, y[] = {plane->b / focus, plane->e / focus, plane->h};
    double t[] = {plane->c / focus, plane->f / focus, 1}, along = 0, square = 0;
    double size = (sqrt(x[0] * x[0] + x[1] * x[1] + x[2] * x[2]) + sqrt(y[0] * y[0] + y[1] * y[1] + y[2] * y[2])) / 2;
    for (int i = 0; i < 3; i++) {
        x[i] /= size;
        y[i] /= size;
        own[SHIFT + i] = t[i] / size;
        along += x[i] * y[i];
    }
    for (int pass = 0; pass < 4; pass++) { // makes both of length 1 and square to each other, neither before the other
        double a = 0, b = 0;
        along = 0;
        for (int i = 0; i < 3; i++) {
            a += x[i] * x[i];
            b += y[i] * y[i];
            along += x[i] * y[i];
        }
        square = along / 2;
        for (int i = 0; i < 3; i++) {
            double was = x[i];
            x[i] = x[i] / sqrt(a) - square * y[i] / b;
            y[i] = y[i] / sqrt(b) - square * was / a;
        }
    }
    vector_of(x, y, own + TURN);
}

// What was touched: a point, or an END (0 from, 1 to) of a line.
typedef struct {
    const DwBundlePoint *point;
    const DwBundleLine *line; // NULL for a point
    int end;
} Touched;

static DwPoint seen_of(const Touched *touched, size_t photo)
{
    if (!touched->line)
        return touched->point->seen[photo];
    return touched->end ? touched->line->to[photo] : touched->line->from[photo];
}

// How ill PLACE fits what was touched in all photographs: along a line less matters than across it.
static double misfit(const DwBundleAdjustment *a, const double *u, const Touched *touched, const double *place)
{
    double sum = 0;
    for (size_t k = 0; k < a->bundle->photo_count; k++) {
        DwPoint seen = seen_of(touched, k);
        if (isnan(seen.x))
            continue;
        DwBundleCamera camera = dw_bundle_camera_of(a, u, k);
        DwPoint at = dw_bundle_camera_see(&camera, place);
        double square = (at.x - seen.x) * (at.x - seen.x) + (at.y - seen.y) * (at.y - seen.y);
        if (touched->line) {
            double off = dw_bundle_beside(at, seen, touched->line->from[k], touched->line->to[k]);
            double far = dw_bundle_along_px(a->bundle, touched->line, k);
            square = off * off + (square - off * off) / (far * far);
        }
        sum += square;
    }
    return sum;
}

// A place to start from: on the ray of PHOTO through what was TOUCHED in it, at the height over the paper that fits the
// other photographs best. From anywhere else the ends of a short line may run into each other, and stay there.
static void start_place(const DwBundleAdjustment *a, const double *u, size_t photo, const Touched *touched,
                        double *place)
{
    enum { COARSE = 50, FINE = 10 };
    static const double lowest = -0.05, coarse = 0.01;
    DwBundleCamera camera = dw_bundle_camera_of(a, u, photo);
    DwPoint seen = seen_of(touched, photo);
    double best = 0, least = INFINITY, from = lowest, step = coarse;
    for (int round = 0, count = COARSE; round < 2; round++, count = 2 * FINE) {
        for (int i = 0; i <= count; i++) {
            dw_bundle_camera_meet(&camera, seen, from + i * step, place);
            double here = misfit(a, u, touched, place);
            if (here < least) {
                least = here;
                best = from + i * step;
            }
        }
        from = best - step;
        step = coarse / FINE;
    }
    dw_bundle_camera_meet(&camera, seen, best, place);
}

void dw_bundle_start_touched(const DwBundleAdjustment *a, double *u)
{
    const DwBundle *b = a->bundle;
    double *place = u + SHARED + OWN * b->photo_count;
    for (size_t i = 0; i < b->point_count; i++, place += POINT_PLACE) {
        size_t first = 0;
        while (first + 1 < b->photo_count && isnan(b->points[i].seen[first].x))
            first++;
        start_place(a, u, first, &(Touched){.point = &b->points[i]}, place);
    }
    for (size_t i = 0; i < b->line_count; i++, place += LINE_PLACE) {
        place[RADIUS] = DW_BUNDLE_USUAL_RADIUS;
        size_t longest = dw_bundle_longest(b, &b->lines[i]);
        for (int end = 0; end < 2; end++)
            start_place(a, u, longest, &(Touched){.line = &b->lines[i], .end = end}, place + 3 * end);
    }
}

bool dw_bundle_start_cameras(const DwBundleAdjustment *a, double *u)
{
    for (size_t i = 0; i < a->bundle->photo_count; i++) {
        DwPlane plane;
        if (!plane_of(a, &a->bundle->photos[i], &plane))
            return false;
        place_camera(&plane, DW_BUNDLE_USUAL_FOCUS, u + SHARED + OWN * i);
    }
    return true;
}
