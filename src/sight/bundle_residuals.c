// SPDX-License-Identifier: MIT
// The residuals of a bundle: how far marks, points, lines and tubes are seen from where the unknowns put them.
#include "sight/bundle_inside.h"
#include "sight/edge_snap.h"

#include <math.h>
#include <string.h>

static const double focus_known = 0.5; // its logarithm's standard deviation
static const double own_focus_known = 0.01, middle_known = 0.015, bend_known = 0.15, bloom_known_px = 1;
static const double radius_known = 0.03; // of an arm tube [100 mm]; common practice, no source

void dw_bundle_stand(const double *u, size_t photo, DwBundleCamera *camera)
{
    const double *own = u + SHARED + OWN * photo;
    dw_bundle_matrix_of(own + TURN, camera->m);
    for (int i = 0; i < 3; i++)
        camera->shift[i] = own[SHIFT + i] * exp(u[FOCUS] + own[OWN_FOCUS]);
}

DwBundleCamera dw_bundle_camera_of(const DwBundleAdjustment *a, const double *u, size_t photo)
{
    const double *own = u + SHARED + OWN * photo;
    const DwBundlePhoto *seen = &a->bundle->photos[photo];
    DwBundleCamera camera = {.focus = DW_BUNDLE_USUAL_FOCUS * exp(u[FOCUS] + own[OWN_FOCUS]),
                             .middle = {own[MIDDLE], own[MIDDLE + 1]},
                             .bend = {u[BEND], u[BEND + 1]},
                             .half_diagonal = hypot(seen->width, seen->height) / 2,
                             .width = seen->width,
                             .height = seen->height,
                             .bloom = own[BLOOM]};
    dw_bundle_stand(u, photo, &camera);
    return camera;
}

static DwPoint see_paper(const DwBundleAdjustment *a, const DwBundleCamera *camera, DwPoint at)
{
    double scale = a->bundle->scale / DW_BUNDLE_UNIT_MM;
    return dw_bundle_camera_see(camera, (const double[]){at.x * scale, at.y * scale, 0});
}

static double *fill_marks(const DwBundleAdjustment *a, const DwBundleCamera *cameras, double *next)
{
    for (size_t i = 0; i < a->count; i++) {
        const DwBundleSighting *s = &a->sightings[i];
        const DwBundleCamera *camera = &cameras[s->photo];
        double off = dw_bundle_beside(s->seen, see_paper(a, camera, s->on_paper), see_paper(a, camera, s->before),
                                      see_paper(a, camera, s->after));
        *next++ = s->weight * (off + camera->bloom) / DW_BUNDLE_EXPECTED_PX;
    }
    return next;
}

// A line that is seen OFF [pixels] beside where it was found, at both ends. What shifts both does not turn it.
static double *fill_across(const double off[2], const DwBundleDoubt *doubt, double *next)
{
    *next++ = (off[0] + off[1]) / 2 / doubt->middle_px;
    *next++ = (off[1] - off[0]) / doubt->tilt_px;
    return next;
}

// How far the sides of the tube are seen beside where they were found in the photograph NUMBER, at both ENDS.
static double *fill_sides(const DwBundleLine *line, size_t number, const DwBundleCamera *camera, const double *ends,
                          double radius, double *next)
{
    static const DwBundleDoubt none = {1, 1};
    bool by_sides = line->is_tube && !isnan(line->side_from[number][0].x);
    double along[3], length = 0;
    for (int i = 0; i < 3; i++) {
        along[i] = ends[3 + i] - ends[i];
        length += along[i] * along[i];
    }
    for (int i = 0; i < 3; i++)
        along[i] /= sqrt(length);
    double bend = dw_bundle_camera_bend(camera, ends, ends + 3) * DW_SNAP_BEND_SHARE;
    for (int which = 0; which < 2; which++) {
        DwPoint from = line->side_from[number][which], to = line->side_to[number][which];
        double off[2] = {0, 0};
        for (int end = 0; end < 2 && by_sides; end++) {
            DwPoint one = dw_bundle_camera_side(camera, ends + 3 * end, along, radius, which ? 1 : -1);
            off[end] = dw_bundle_beside(one, from, from, to) + bend;
        }
        next = fill_across(off, by_sides ? &line->side_doubt[number][which] : &none, next);
    }
    return next;
}

static double touched_px(const DwBundleLine *line, size_t number)
{
    DwPoint from = line->from[number], to = line->to[number];
    return isnan(from.x) ? 0 : hypot(to.x - from.x, to.y - from.y);
}

size_t dw_bundle_longest(const DwBundle *bundle, const DwBundleLine *line)
{
    size_t longest = 0;
    for (size_t k = 1; k < bundle->photo_count; k++)
        if (touched_px(line, k) > touched_px(line, longest))
            longest = k;
    return longest;
}

double dw_bundle_along_px(const DwBundle *bundle, const DwBundleLine *line, size_t number)
{
    size_t longest = dw_bundle_longest(bundle, line);
    return longest == number ? line->along_px : fmax(line->along_px, touched_px(line, longest) / 2);
}

double *dw_bundle_fill_line(const DwBundle *bundle, const DwBundleLine *line, size_t number,
                            const DwBundleCamera *camera, const double *place, double *next)
{
    DwPoint from = line->from[number], to = line->to[number];
    bool is_seen = !isnan(from.x), by_sides = line->is_tube && !isnan(line->side_from[number][0].x);
    double ends[6], off[2] = {0, 0}, far = dw_bundle_along_px(bundle, line, number);
    memcpy(ends, place, sizeof ends);
    if (is_seen)
        dw_bundle_camera_reach(camera, from, to, place, ends);
    double bend = is_seen && line->bend_share[number] > 0
                      ? line->bend_share[number] * dw_bundle_camera_bend(camera, ends, ends + 3)
                      : 0;
    for (int end = 0; end < 2; end++) {
        DwPoint at = dw_bundle_camera_see(camera, place + 3 * end), seen = end ? to : from;
        double x = to.x - from.x, y = to.y - from.y, length = hypot(x, y);
        *next++ = is_seen ? ((at.x - seen.x) * x + (at.y - seen.y) * y) / length / far : 0;
        off[end] = is_seen && !by_sides
                       ? dw_bundle_beside(dw_bundle_camera_see(camera, ends + 3 * end), seen, from, to) + bend
                       : 0;
    }
    next = fill_across(off, &line->doubt[number], next);
    return fill_sides(line, number, camera, ends, place[RADIUS], next);
}

static double *fill_touched(const DwBundleAdjustment *a, const DwBundleCamera *cameras, const double *place,
                            double *next)
{
    const DwBundle *b = a->bundle;
    const double *points = place, *lines = place + POINT_PLACE * b->point_count;
    for (size_t i = 0; i < b->point_count; i++, place += POINT_PLACE)
        for (size_t k = 0; k < b->photo_count; k++) {
            DwPoint seen = b->points[i].seen[k], at = dw_bundle_camera_see(&cameras[k], place);
            *next++ = isnan(seen.x) ? 0 : (at.x - seen.x) / b->points[i].doubt_px;
            *next++ = isnan(seen.x) ? 0 : (at.y - seen.y) / b->points[i].doubt_px;
        }
    for (size_t i = 0; i < b->line_count; i++, place += LINE_PLACE) {
        for (size_t k = 0; k < b->photo_count; k++)
            next = dw_bundle_fill_line(b, &b->lines[i], k, &cameras[k], place, next);
        *next++ = (place[RADIUS] - DW_BUNDLE_USUAL_RADIUS) / radius_known;
    }
    bool tied = b->tie.off_mm > 0 && b->point_count > 0 && b->line_count > 0;
    if (tied) {
        const double *point = points + POINT_PLACE * (size_t)b->tie.point,
                     *line = lines + LINE_PLACE * (size_t)b->tie.line;
        DwPoint at = {point[0], point[1]}, from = {line[0], line[1]}, to = {line[3], line[4]};
        *next++ = dw_bundle_beside(at, from, from, to) * DW_BUNDLE_UNIT_MM / b->tie.off_mm;
    } else
        *next++ = 0;
    return next;
}

void dw_bundle_fill(const double *u, double *residuals, void *user)
{
    const DwBundleAdjustment *a = user;
    DwBundleCamera cameras[DW_BUNDLE_PHOTOS_MOST];
    size_t photos = a->bundle->photo_count;
    for (size_t i = 0; i < photos; i++)
        cameras[i] = dw_bundle_camera_of(a, u, i);
    double *next = fill_marks(a, cameras, residuals);
    next = fill_touched(a, cameras, u + SHARED + OWN * photos, next);
    *next++ = u[FOCUS] / focus_known;
    *next++ = u[BEND] / bend_known;
    *next++ = u[BEND + 1] / bend_known;
    for (size_t i = 0; i < photos; i++) {
        const double *own = u + SHARED + OWN * i;
        *next++ = own[OWN_FOCUS] / own_focus_known;
        *next++ = own[MIDDLE] / middle_known;
        *next++ = own[MIDDLE + 1] / middle_known;
        *next++ = own[BLOOM] / bloom_known_px;
    }
}
