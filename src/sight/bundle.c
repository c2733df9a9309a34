// SPDX-License-Identifier: MIT
#include "sight/bundle.h"

#include "base/memory.h"
#include "dsp/statistics.h"
#include "sight/adjust.h"
#include "sight/bundle_camera.h"
#include "sight/edge_snap.h"
#include "sight/plane.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// The unknowns: what all cameras share, what each has of its own, then points and lines [100 mm].
enum { FOCUS, BEND, SHARED = 3, TURN = 0, SHIFT = 3, OWN_FOCUS = 6, MIDDLE, BLOOM = 9, OWN };
enum { PASSES = 3, ROUNDS_MOST = 60, EDGE_POINTS = 4 * DW_EDGE_POINTS, EACH_KNOWN = 4, ALL_KNOWN = 4 };
enum { POINT_PLACE = 3, LINE_PLACE = 7, RADIUS = 6, POINT_SEEN = 2, LINE_SEEN = 8, LINE_ALONG = 2 };

static const double usual_focus = 1.2; // of half the diagonal: a telephone's main camera; common practice
static const double focus_known = 0.5; // its logarithm's standard deviation
static const double own_focus_known = 0.01, middle_known = 0.015, bend_known = 0.15, bloom_known_px = 1;
static const double expected_px = 0.15;
static const double usual_radius = 0.045, radius_known = 0.03; // of an arm tube [100 mm]; common practice, no source
static const double unit_mm = 100;

typedef struct {
    DwPoint on_paper, before, after; // [mm]
    DwPoint seen;
    double weight;
    size_t photo;
} Sighting;

typedef struct {
    const DwBundle *bundle;
    Sighting *sightings;
    size_t count; // of sightings
    size_t unknowns, residuals;
} Adjustment;

struct DwBundled {
    size_t photos, points, lines, unknowns;
    double *answer, *covariance;
    double rest_px;
};

typedef DwBundleCamera Camera;

static Camera camera_of(const Adjustment *a, const double *u, size_t photo)
{
    const double *own = u + SHARED + OWN * photo;
    const DwBundlePhoto *seen = &a->bundle->photos[photo];
    Camera camera = {.focus = usual_focus * exp(u[FOCUS] + own[OWN_FOCUS]),
                     .middle = {own[MIDDLE], own[MIDDLE + 1]},
                     .bend = {u[BEND], u[BEND + 1]},
                     .half_diagonal = hypot(seen->width, seen->height) / 2,
                     .width = seen->width,
                     .height = seen->height,
                     .bloom = own[BLOOM]};
    dw_bundle_matrix_of(own + TURN, camera.m);
    memcpy(camera.shift, own + SHIFT, sizeof camera.shift);
    return camera;
}

static DwPoint see_paper(const Adjustment *a, const Camera *camera, DwPoint at)
{
    double scale = a->bundle->scale / unit_mm;
    return dw_bundle_camera_see(camera, (const double[]){at.x * scale, at.y * scale, 0});
}

static double *fill_marks(const Adjustment *a, const Camera *cameras, double *next)
{
    for (size_t i = 0; i < a->count; i++) {
        const Sighting *s = &a->sightings[i];
        const Camera *camera = &cameras[s->photo];
        double off = dw_bundle_beside(s->seen, see_paper(a, camera, s->on_paper), see_paper(a, camera, s->before),
                                      see_paper(a, camera, s->after));
        *next++ = s->weight * (off + camera->bloom) / expected_px;
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
static double *fill_sides(const DwBundleLine *line, size_t number, const Camera *camera, const double *ends,
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

// The photograph that shows the most of LINE.
static size_t longest_of(const DwBundle *bundle, const DwBundleLine *line)
{
    size_t longest = 0;
    for (size_t k = 1; k < bundle->photo_count; k++)
        if (touched_px(line, k) > touched_px(line, longest))
            longest = k;
    return longest;
}

// How far along it the line's ends may lie from where they were touched in the photograph NUMBER: they are those of the
// one that shows the most of it.
static double along_px(const DwBundle *bundle, const DwBundleLine *line, size_t number)
{
    size_t longest = longest_of(bundle, line);
    return longest == number ? line->along_px : fmax(line->along_px, touched_px(line, longest) / 2);
}

static double *fill_line(const DwBundle *bundle, const DwBundleLine *line, size_t number, const Camera *camera,
                         const double *place, double *next)
{
    DwPoint from = line->from[number], to = line->to[number];
    bool is_seen = !isnan(from.x), by_sides = line->is_tube && !isnan(line->side_from[number][0].x);
    double ends[6], off[2] = {0, 0}, far = along_px(bundle, line, number);
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

static double *fill_touched(const Adjustment *a, const Camera *cameras, const double *place, double *next)
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
            next = fill_line(b, &b->lines[i], k, &cameras[k], place, next);
        *next++ = (place[RADIUS] - usual_radius) / radius_known;
    }
    bool tied = b->tie.off_mm > 0 && b->point_count > 0 && b->line_count > 0;
    if (tied) {
        const double *point = points + POINT_PLACE * (size_t)b->tie.point,
                     *line = lines + LINE_PLACE * (size_t)b->tie.line;
        DwPoint at = {point[0], point[1]}, from = {line[0], line[1]}, to = {line[3], line[4]};
        *next++ = dw_bundle_beside(at, from, from, to) * unit_mm / b->tie.off_mm;
    } else
        *next++ = 0;
    return next;
}

static void fill(const double *u, double *residuals, void *user)
{
    const Adjustment *a = user;
    Camera cameras[DW_BUNDLE_PHOTOS_MOST];
    size_t photos = a->bundle->photo_count;
    for (size_t i = 0; i < photos; i++)
        cameras[i] = camera_of(a, u, i);
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

static void add_sightings(const DwBundlePhoto *photo, size_t number, Adjustment *a)
{
    for (size_t i = 0; i < photo->count; i++) {
        double corners[4][2];
        dw_paper_mark_corners(&photo->marks[i].mark, corners);
        for (size_t side = 0; side < 4; side++)
            for (size_t point = 0; point < DW_EDGE_POINTS; point++) {
                const double *from = corners[side], *to = corners[(side + 1) % 4];
                double share = dw_mark_edge_share(point);
                a->sightings[a->count++] =
                    (Sighting){.on_paper = {from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])},
                               .before = {from[0], from[1]},
                               .after = {to[0], to[1]},
                               .seen = photo->marks[i].edges.points[side][point],
                               .weight = 1,
                               .photo = number};
            }
    }
}

// The plane of PHOTO: from the paper [100 mm] to the picture [half its diagonal].
static bool plane_of(const Adjustment *a, const DwBundlePhoto *photo, DwPlane *plane)
{
    DwPoint from[4 * DW_PAPER_MARKS_MOST], to[4 * DW_PAPER_MARKS_MOST];
    double half = hypot(photo->width, photo->height) / 2, scale = a->bundle->scale / unit_mm;
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
static double misfit(const Adjustment *a, const double *u, const Touched *touched, const double *place)
{
    double sum = 0;
    for (size_t k = 0; k < a->bundle->photo_count; k++) {
        DwPoint seen = seen_of(touched, k);
        if (isnan(seen.x))
            continue;
        Camera camera = camera_of(a, u, k);
        DwPoint at = dw_bundle_camera_see(&camera, place);
        double square = (at.x - seen.x) * (at.x - seen.x) + (at.y - seen.y) * (at.y - seen.y);
        if (touched->line) {
            double off = dw_bundle_beside(at, seen, touched->line->from[k], touched->line->to[k]);
            double far = along_px(a->bundle, touched->line, k);
            square = off * off + (square - off * off) / (far * far);
        }
        sum += square;
    }
    return sum;
}

// A place to start from: on the ray of PHOTO through what was TOUCHED in it, at the height over the paper that fits the
// other photographs best. From anywhere else the ends of a short line may run into each other, and stay there.
static void start_place(const Adjustment *a, const double *u, size_t photo, const Touched *touched, double *place)
{
    enum { COARSE = 50, FINE = 10 };
    static const double lowest = -0.05, coarse = 0.01;
    Camera camera = camera_of(a, u, photo);
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

static void start_touched(const Adjustment *a, double *u)
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
        place[RADIUS] = usual_radius;
        size_t longest = longest_of(b, &b->lines[i]);
        for (int end = 0; end < 2; end++)
            start_place(a, u, longest, &(Touched){.line = &b->lines[i], .end = end}, place + 3 * end);
    }
}

// Sets the sightings' weights by how far off they are. Returned: how far usually [pixels].
static double weigh(Adjustment *a, const double *u)
{
    double *residuals = dw_memory_new(a->residuals, sizeof *residuals), *sizes = dw_memory_new(a->count, sizeof *sizes);
    for (size_t i = 0; i < a->count; i++)
        a->sightings[i].weight = 1;
    fill(u, residuals, a);
    for (size_t i = 0; i < a->count; i++)
        sizes[i] = fabs(residuals[i]) * expected_px;
    double usual = fmax(0.01, 1.4826 * dw_statistics_middle(sizes, a->count));
    for (size_t i = 0; i < a->count; i++) {
        double share = fabs(residuals[i]) * expected_px / usual;
        a->sightings[i].weight = (share < 2 ? 1 : share < 6 ? sqrt(2 / share) : 0) * expected_px / fmax(usual, 0.03);
    }
    free(residuals);
    free(sizes);
    return usual;
}

static bool begin(const Adjustment *a, double *u)
{
    for (size_t i = 0; i < a->bundle->photo_count; i++) {
        DwPlane plane;
        if (!plane_of(a, &a->bundle->photos[i], &plane))
            return false;
        place_camera(&plane, usual_focus, u + SHARED + OWN * i);
    }
    return true;
}

// The cameras alone first: what is touched then starts from where they stand.
static bool adjust_cameras(const Adjustment *a, double *u)
{
    DwBundle cameras = *a->bundle;
    cameras.point_count = cameras.line_count = 0;
    Adjustment alone = *a; // with the same sightings, whose weights stay
    alone.bundle = &cameras;
    alone.residuals = a->count + ALL_KNOWN + EACH_KNOWN * cameras.photo_count;
    DwAdjust problem = {SHARED + OWN * cameras.photo_count, alone.residuals, fill, &alone, ROUNDS_MOST, NULL};
    if (!dw_adjust(&problem, u, NULL, NULL))
        return false;
    weigh(&alone, u);
    return true;
}

static bool adjust_all(Adjustment *a, DwBundled *bundled)
{
    const DwBundle *b = a->bundle;
    if (!begin(a, bundled->answer) || !adjust_cameras(a, bundled->answer))
        return false;
    start_touched(a, bundled->answer);
    a->residuals = a->count + b->photo_count * (POINT_SEEN * b->point_count + LINE_SEEN * b->line_count + EACH_KNOWN) +
                   b->line_count + ALL_KNOWN;
    DwAdjust problem = {bundled->unknowns, a->residuals, fill, a, ROUNDS_MOST, NULL};
    DwBundle untied = *b; // before a line is found, the height it starts from says nothing of what is tied to it
    untied.tie.off_mm = 0;
    bool settled = false;
    for (int pass = 0; pass < PASSES; pass++) {
        a->bundle = pass == 0 ? &untied : b;
        if (!dw_adjust(&problem, bundled->answer, bundled->covariance, &settled))
            return false;
        bundled->rest_px = weigh(a, bundled->answer);
    }
    return settled;
}

DwBundled *dw_bundle_adjust(const DwBundle *bundle)
{
    Adjustment a = {.bundle = bundle};
    DwBundled *bundled = dw_memory_new(1, sizeof *bundled);
    *bundled = (DwBundled){.photos = bundle->photo_count, .points = bundle->point_count, .lines = bundle->line_count};
    bundled->unknowns = SHARED + OWN * bundled->photos + POINT_PLACE * bundled->points + LINE_PLACE * bundled->lines;
    bundled->answer = dw_memory_new(bundled->unknowns, sizeof(double));
    bundled->covariance = dw_memory_new(bundled->unknowns * bundled->unknowns, sizeof(double));
    a.unknowns = bundled->unknowns;
    a.sightings = dw_memory_new(bundled->photos * DW_PAPER_MARKS_MOST * EDGE_POINTS, sizeof *a.sightings);
    for (size_t i = 0; i < bundled->photos; i++)
        add_sightings(&bundle->photos[i], i, &a);
    bool found = adjust_all(&a, bundled);
    free(a.sightings);
    if (found)
        return bundled;
    dw_bundled_free(bundled);
    return NULL;
}

void dw_bundled_free(DwBundled *bundled)
{
    if (!bundled)
        return;
    free(bundled->answer);
    free(bundled->covariance);
    free(bundled);
}

double dw_bundled_rest(const DwBundled *bundled)
{
    return bundled->rest_px;
}

static DwPlace place_at(const double *at)
{
    return (DwPlace){unit_mm * at[0], unit_mm * at[1], unit_mm * at[2]};
}

DwPlace dw_bundled_camera(const DwBundled *bundled, size_t index)
{
    const double *own = bundled->answer + SHARED + OWN * index;
    Camera camera = {.focus = 1};
    double eye[3];
    dw_bundle_matrix_of(own + TURN, camera.m);
    memcpy(camera.shift, own + SHIFT, sizeof camera.shift);
    dw_bundle_camera_eye(&camera, eye);
    return place_at(eye);
}

DwPlace dw_bundled_point(const DwBundled *bundled, size_t index)
{
    return place_at(bundled->answer + SHARED + OWN * bundled->photos + POINT_PLACE * index);
}

DwPlace dw_bundled_line_end(const DwBundled *bundled, size_t index, int end)
{
    return place_at(bundled->answer + SHARED + OWN * bundled->photos + POINT_PLACE * bundled->points +
                    LINE_PLACE * index + 3 * (size_t)end);
}

DwBundleCamera dw_bundled_lens(const DwBundled *bundled, const DwBundle *bundle, size_t index)
{
    const Adjustment a = {.bundle = bundle};
    return camera_of(&a, bundled->answer, index);
}

DwPoint dw_bundled_see(const DwBundled *bundled, const DwBundle *bundle, size_t index, DwPlace at)
{
    Camera camera = dw_bundled_lens(bundled, bundle, index);
    return dw_bundle_camera_see(&camera, (const double[]){at.x / unit_mm, at.y / unit_mm, at.z / unit_mm});
}

// The largest of what fill_line() says of the INDEXth line, from FIRST on to before LAST.
static double largest_off(const DwBundled *bundled, const DwBundle *bundle, size_t index, int first, int last)
{
    const double *place =
        bundled->answer + SHARED + OWN * bundled->photos + POINT_PLACE * bundled->points + LINE_PLACE * index;
    double most = 0;
    for (size_t k = 0; k < bundled->photos; k++) {
        Camera camera = dw_bundled_lens(bundled, bundle, k);
        double off[LINE_SEEN];
        fill_line(bundle, &bundle->lines[index], k, &camera, place, off);
        for (int i = first; i < last; i++)
            most = fmax(most, fabs(off[i]));
    }
    return most;
}

double dw_bundled_line_off(const DwBundled *bundled, const DwBundle *bundle, size_t index)
{
    return largest_off(bundled, bundle, index, LINE_ALONG, LINE_SEEN);
}

double dw_bundled_line_apart(const DwBundled *bundled, const DwBundle *bundle, size_t index)
{
    return largest_off(bundled, bundle, index, 0, LINE_ALONG);
}

static double figure_of(const DwBundled *bundled, const double *u, DwBundleFigure figure, const void *user)
{
    DwPlace places[DW_BUNDLE_POINTS_MOST + 2 * DW_BUNDLE_LINES_MOST];
    const double *at = u + SHARED + OWN * bundled->photos;
    for (size_t i = 0; i < bundled->points; i++, at += POINT_PLACE)
        places[i] = place_at(at);
    for (size_t i = 0; i < bundled->lines; i++, at += LINE_PLACE) {
        places[bundled->points + 2 * i] = place_at(at);
        places[bundled->points + 2 * i + 1] = place_at(at + 3);
    }
    return figure(places, places + bundled->points, user);
}

double dw_bundled_figure(const DwBundled *bundled, DwBundleFigure figure, const void *user, double *deviation)
{
    enum { STEP_MILLIONTH = 10 };
    size_t n = bundled->unknowns, first = SHARED + OWN * bundled->photos;
    double step = STEP_MILLIONTH * 1e-6, here = figure_of(bundled, bundled->answer, figure, user), variance = 0;
    double *u = dw_memory_new(n, sizeof *u), *slope = dw_memory_new(n, sizeof *slope);
    memcpy(u, bundled->answer, n * sizeof *u);
    for (size_t i = first; i < n; i++) {
        u[i] += step;
        slope[i] = (figure_of(bundled, u, figure, user) - here) / step;
        u[i] -= step;
    }
    for (size_t i = first; i < n; i++)
        for (size_t k = first; k < n; k++)
            variance += slope[i] * slope[k] * bundled->covariance[i * n + k];
    free(u);
    free(slope);
    *deviation = sqrt(fmax(0, variance));
    return here;
}
