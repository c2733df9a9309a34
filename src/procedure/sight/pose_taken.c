// SPDX-License-Identifier: MIT
#include "procedure/sight/pose_taken.h"

#include "procedure/sight/photo_marks.h"
#include "procedure/sight/pose_figures.h"
#include "sight/edge_snap.h"

#include <math.h>
#include <string.h>

enum { MARKS_LEAST = 3 };

static const double touch_95 = 2.4477; // a touch is as likely off any way: 95 % of them lie within that many deviations
static const double along_px = 30, most_rest_px = 2, least_angle_deg = 8;
static const double beside_most = 6; // deviations that a touch may lie beside where the point is seen
static const double ends_least_px = 4;
static const double under_mm = 1, turned_most_deg = 90;
static const double tube_touch_px = 4, tube_touch_share = 0.02; // of the stretch touched; a judgement
static const double tip_beside_mm = 0.05, most_beside = 3;      // of its cantilever's plane; a judgement
static const double bar_share = 0.2;                            // of a bar's length: wider than it is
static const double tube_most_mm = 8;                           // half of an arm tube, at the most; a judgement

static const char *const points[DW_POSE_POINTS] = {"touch.tip", "touch.pivot", "touch.known_from", "touch.known_to"};
static const struct {
    const char *from, *to;
    enum { EDGE, BAR, TUBE } kind;
} lines[DW_POSE_LINES] = {{"touch.cantilever_root", "touch.cantilever_front", BAR},
                          {"touch.body_rear", "touch.body_front", EDGE},
                          {"touch.shell_rear", "touch.shell_front", EDGE},
                          {"touch.arm_rear", "touch.arm_front", TUBE}};

void dw_pose_taken_clear(DwPoseTaken *taken)
{
    dw_bundled_free(taken->bundled);
    *taken = (DwPoseTaken){0};
}

// What was touched for KEY, a place for each photograph; NAN where it is not seen.
static DwStatus read_touches(const DwInputs *inputs, const char *key, const DwPoseTaken *taken, DwPoint *seen,
                             DwMessage *message)
{
    size_t given = dw_inputs_count(inputs, key), photos = taken->bundle.photo_count, known = 0;
    if (given != photos)
        return dw_fail(
            message, DW_BAD_INPUT,
            "%s: %zu given, %zu photographs. Give it once for each, in their order; 0:0 where it is not seen.", key,
            given, photos);
    for (size_t i = 0; i < photos; i++) {
        const DwBundlePhoto *photo = &taken->bundle.photos[i];
        dw_inputs_pair_in(inputs, key, i, "", "", &seen[i].x, &seen[i].y);
        if (seen[i].x > photo->width || seen[i].y > photo->height)
            return dw_fail(message, DW_BAD_INPUT, "%s: %g:%g lies outside photograph %zu, which has %d × %d pixels.",
                           key, seen[i].x, seen[i].y, i + 1, photo->width, photo->height);
        bool is_seen = seen[i].x != 0 || seen[i].y != 0;
        known += is_seen;
        if (!is_seen)
            seen[i] = (DwPoint){NAN, NAN};
    }
    if (known < 2)
        return dw_fail(message, DW_BAD_INPUT, "%s: it must be touched in two photographs or more.", key);
    return DW_OK;
}

static DwStatus read_points(const DwInputs *inputs, double touch_px, DwPoseTaken *taken, DwMessage *message)
{
    for (int i = 0; i < DW_POSE_POINTS; i++) {
        taken->point_at[i] = -1;
        if (dw_inputs_count(inputs, points[i]) == 0)
            continue;
        DwBundlePoint *point = &taken->bundle.points[taken->bundle.point_count];
        DwStatus status = read_touches(inputs, points[i], taken, point->seen, message);
        if (status != DW_OK)
            return status;
        point->doubt_px = touch_px;
        taken->point_at[i] = (int)taken->bundle.point_count++;
    }
    return DW_OK;
}

static DwStatus read_lines(const DwInputs *inputs, double touch_px, DwPoseTaken *taken, DwMessage *message)
{
    for (int i = 0; i < DW_POSE_LINES; i++) {
        taken->line_at[i] = -1;
        size_t from = dw_inputs_count(inputs, lines[i].from), to = dw_inputs_count(inputs, lines[i].to);
        if (from == 0 && to == 0)
            continue;
        DwBundleLine *line = &taken->bundle.lines[taken->bundle.line_count];
        DwStatus status = read_touches(inputs, lines[i].from, taken, line->from, message);
        if (status == DW_OK)
            status = read_touches(inputs, lines[i].to, taken, line->to, message);
        if (status != DW_OK)
            return status;
        for (size_t k = 0; k < taken->bundle.photo_count; k++) {
            line->doubt[k] = (DwBundleDoubt){touch_px / M_SQRT2, touch_px * M_SQRT2}; // of two touches
            line->side_from[k][0].x = line->side_from[k][1].x = NAN;
            if (hypot(line->to[k].x - line->from[k].x, line->to[k].y - line->from[k].y) < ends_least_px)
                return dw_fail(message, DW_BAD_INPUT,
                               "%s and %s: both ends are touched at one place in photograph %zu. Touch them as far "
                               "apart as the line is seen.",
                               lines[i].from, lines[i].to, k + 1);
            if (isnan(line->from[k].x) != isnan(line->to[k].x))
                return dw_fail(message, DW_BAD_INPUT, "%s and %s: touch both ends in photograph %zu, or neither.",
                               lines[i].from, lines[i].to, k + 1);
        }
        line->along_px = fmax(along_px, 5 * touch_px);
        line->is_tube = lines[i].kind == TUBE;
        taken->line_at[i] = (int)taken->bundle.line_count++;
    }
    return DW_OK;
}

// How large a millimetre is in PHOTO, at the nearest of its marks [pixels].
static double px_per_mm(const DwBundlePhoto *photo)
{
    double most = 0;
    for (size_t i = 0; i < photo->count; i++)
        for (int k = 0; k < 4; k++) {
            DwPoint a = photo->marks[i].corners[k], b = photo->marks[i].corners[(k + 1) % 4];
            most = fmax(most, hypot(a.x - b.x, a.y - b.y) / photo->marks[i].mark.size_mm);
        }
    return most;
}

// How the lines that are printed along the groove run in PHOTO at AT, of length 1: square to the way from the spindle.
static DwPoint line_way(const DwBundlePhoto *photo, DwPoint at)
{
    DwPlane plane, back;
    if (!dw_mark_finder_plane(photo->marks, photo->count, &plane) || !dw_plane_inverse(&plane, &back))
        return (DwPoint){0, 0};
    DwPoint here = dw_plane_map(&back, at);
    double radius = fmax(1, hypot(here.x, here.y)); // [mm]
    DwPoint there = dw_plane_map(&plane, (DwPoint){here.x - here.y / radius, here.y + here.x / radius});
    at = dw_plane_map(&plane, here);
    double length = hypot(there.x - at.x, there.y - at.y);
    return (DwPoint){(there.x - at.x) / length, (there.y - at.y) / length};
}

// Moves the touched ends of LINE onto the edge that is found there. Returned: whether one is.
static bool snap_line(const DwGrey *grey, const DwPoseTaken *taken, size_t number, double touch_px, int kind,
                      DwBundleLine *line)
{
    const DwBundlePhoto *photo = &taken->bundle.photos[number];
    DwPoint from = line->from[number], to = line->to[number];
    DwTouchedLine touched = {from,
                             to,
                             3 * touch_px + 1,
                             bar_share * hypot(to.x - from.x, to.y - from.y),
                             dw_marked_paper_line_mm(taken->paper) * px_per_mm(photo),
                             {0, 0}};
    DwSnapped found[2];
    if (touched.line_px > 0)
        touched.line_way = line_way(photo, from);
    if (kind == TUBE) {
        touched.off_px +=
            tube_touch_px + tube_touch_share * hypot(to.x - from.x, to.y - from.y); // no edge shows its middle
        touched.half_width_px = tube_most_mm * px_per_mm(photo); // however short the tube looks that way
        if (!dw_tube_snap(grey, &touched, found))
            return false;
        for (int i = 0; i < 2; i++) {
            line->side_from[number][i] = found[i].from;
            line->side_to[number][i] = found[i].to;
            line->side_doubt[number][i] = (DwBundleDoubt){found[i].doubt, found[i].tilt_doubt};
        }
        return true;
    }
    if (!(kind == BAR ? dw_bar_snap(grey, &touched, found) : dw_edge_snap(grey, &touched, found)))
        return false;
    line->from[number] = found->from;
    line->to[number] = found->to;
    line->doubt[number] = (DwBundleDoubt){found->doubt, found->tilt_doubt};
    line->bend_share[number] = DW_SNAP_BEND_SHARE;
    return true;
}

// All lines in the photograph NUMBER.
static void snap_lines(const DwGrey *grey, size_t number, double touch_px, DwPoseTaken *taken)
{
    for (int i = 0; i < DW_POSE_LINES; i++) {
        DwBundleLine *line = taken->line_at[i] < 0 ? NULL : &taken->bundle.lines[taken->line_at[i]];
        if (!line || isnan(line->from[number].x))
            continue;
        if (snap_line(grey, taken, number, touch_px, lines[i].kind, line))
            taken->snapped++;
        else
            taken->unsnapped++;
    }
}

static DwStatus read_photos(const DwRequest *request, DwMarkFinder *finder, DwPhoto *photos, DwPoseTaken *taken,
                            DwMessage *message)
{
    for (size_t i = 0; i < request->recording_count; i++) {
        DwBundlePhoto *photo = &taken->bundle.photos[i];
        DwMarkedPaper paper;
        DwStatus status = dw_photo_marks_read(request->recordings[i], finder, MARKS_LEAST, &photos[i], photo->marks,
                                              &photo->count, &paper, message);
        if (status != DW_OK)
            return status;
        if (i > 0 && paper != taken->paper)
            return dw_fail(message, DW_BAD_INPUT, "%s shows the %s, the photographs before it the %s: use one paper.",
                           request->recordings[i], dw_marked_paper_name(paper), dw_marked_paper_name(taken->paper));
        taken->paper = paper;
        photo->width = photos[i].grey.width;
        photo->height = photos[i].grey.height;
        taken->bundle.photo_count++;
    }
    return DW_OK;
}

// The widest angle between two cameras, seen from the middle of what they look at.
static double widest_deg(const DwPoseTaken *taken)
{
    double widest = 0;
    DwPlace about = {0, 0, 0};
    const DwBundlePhoto *first = &taken->bundle.photos[0];
    for (size_t i = 0; i < first->count; i++) {
        about.x += first->marks[i].mark.x_mm / (double)first->count;
        about.y += first->marks[i].mark.y_mm / (double)first->count;
    }
    for (size_t i = 0; i < taken->bundle.photo_count; i++)
        for (size_t k = 0; k < i; k++) {
            DwPlace a = dw_bundled_camera(taken->bundled, i), b = dw_bundled_camera(taken->bundled, k);
            double ax = a.x - about.x, ay = a.y - about.y, bx = b.x - about.x, by = b.y - about.y;
            double dot = ax * bx + ay * by + a.z * b.z;
            double sizes = sqrt((ax * ax + ay * ay + a.z * a.z) * (bx * bx + by * by + b.z * b.z));
            widest = fmax(widest, acos(fmax(-1, fmin(1, dot / sizes))) * 180 / M_PI);
        }
    return widest;
}

static double away(DwPoint seen, DwPoint touched)
{
    return isnan(touched.x) ? 0 : hypot(seen.x - touched.x, seen.y - touched.y);
}

// How far beside the touches what was found is seen, at most [deviations of a touch].
static double point_beside(const DwPoseTaken *taken, size_t index)
{
    const DwBundlePoint *point = &taken->bundle.points[index];
    DwPlace place = dw_bundled_point(taken->bundled, index);
    double most = 0;
    for (size_t k = 0; k < taken->bundle.photo_count; k++) {
        double off = away(dw_bundled_see(taken->bundled, &taken->bundle, k, place), point->seen[k]);
        most = fmax(most, off / point->doubt_px);
    }
    return most;
}

// Whether the line at INDEX is seen to run the way it was touched, and where, in all photographs.
static bool is_one_line(const DwPoseTaken *taken, size_t index)
{
    const DwBundleLine *line = &taken->bundle.lines[index];
    DwPlace from = dw_bundled_line_end(taken->bundled, index, 0), to = dw_bundled_line_end(taken->bundled, index, 1);
    for (size_t k = 0; k < taken->bundle.photo_count; k++) {
        DwPoint a = dw_bundled_see(taken->bundled, &taken->bundle, k, from),
                b = dw_bundled_see(taken->bundled, &taken->bundle, k, to);
        double x = line->to[k].x - line->from[k].x, y = line->to[k].y - line->from[k].y;
        if (x * (b.x - a.x) + y * (b.y - a.y) < 0)
            return false;
    }
    return dw_bundled_line_apart(taken->bundled, &taken->bundle, index) <= beside_most;
}

// What was touched must be one and the same thing in all photographs, and the tip over the paper.
static DwStatus check_touches(const DwPoseTaken *taken, DwMessage *message)
{
    for (int i = 0; i < DW_POSE_POINTS; i++)
        if (taken->point_at[i] >= 0 && point_beside(taken, (size_t)taken->point_at[i]) > beside_most)
            return dw_fail(
                message, DW_BAD_INPUT,
                "%s: what is touched in the photographs cannot be one and the same point. Touch it again, in "
                "the photographs' order.",
                points[i]);
    for (int i = 0; i < DW_POSE_LINES; i++)
        if (taken->line_at[i] >= 0 && !is_one_line(taken, (size_t)taken->line_at[i]))
            return dw_fail(message, DW_BAD_INPUT,
                           "%s and %s: what is touched in the photographs cannot be one and the same line. Touch its "
                           "ends again, in the photographs' order.",
                           lines[i].from, lines[i].to);
    int tip = taken->point_at[DW_POSE_TIP];
    double deviation,
        height = tip < 0 ? 0 : dw_bundled_figure(taken->bundled, dw_pose_height, &(DwPoseOf){.point = tip}, &deviation);
    if (tip >= 0 && height + touch_95 * deviation < -under_mm)
        return dw_fail(
            message, DW_BAD_INPUT,
            "%s: the tip would lie %.1f mm under the paper. Touch the same point of it in each photograph, in "
            "the photographs' order.",
            points[DW_POSE_TIP], -height);
    return DW_OK;
}

static double apart(DwPlace a, DwPlace b)
{
    return hypot(hypot(a.x - b.x, a.y - b.y), a.z - b.z);
}

// Whether the arm tube's rear end lies nearer to the tip than its front end does.
static bool points_against_tip(const DwPoseTaken *taken)
{
    int tip = taken->point_at[DW_POSE_TIP], arm = taken->line_at[DW_POSE_ARM];
    if (tip < 0 || arm < 0)
        return false;
    DwPlace at = dw_bundled_point(taken->bundled, (size_t)tip);
    return apart(at, dw_bundled_line_end(taken->bundled, (size_t)arm, 0)) <
           apart(at, dw_bundled_line_end(taken->bundled, (size_t)arm, 1));
}

// Whether the line WHICH points away from where the groove under the tip runs.
static bool points_against_groove(const DwPoseTaken *taken, int which)
{
    int tip = taken->point_at[DW_POSE_TIP], at = taken->line_at[which];
    if (tip < 0 || at < 0 || which == DW_POSE_ARM || !dw_marked_paper_has_spindle(taken->paper))
        return false;
    const DwPoseOf of = {.point = tip, .line = at};
    double deviation;
    return fabs(dw_bundled_figure(taken->bundled, dw_pose_error, &of, &deviation)) > turned_most_deg;
}

// Cantilever, cartridge, headshell and arm tube point the same way: else the ends of one were touched the wrong way
// round.
static DwStatus check_ways(const DwPoseTaken *taken, DwMessage *message)
{
    for (int i = 0; i < DW_POSE_LINES; i++)
        for (int k = 0; k < i; k++) {
            if (taken->line_at[i] < 0 || taken->line_at[k] < 0)
                continue;
            const DwPoseOf of = {.line = taken->line_at[i], .than = taken->line_at[k]};
            double deviation, turned = dw_bundled_figure(taken->bundled, dw_pose_turned, &of, &deviation);
            if (fabs(turned) > turned_most_deg)
                return dw_fail(message, DW_BAD_INPUT,
                               "%s and %s point against %s and %s: the two ends of one of them are exchanged, or the "
                               "photographs' order is not kept.",
                               lines[i].from, lines[i].to, lines[k].from, lines[k].to);
        }
    for (int i = 0; i < DW_POSE_LINES; i++)
        if (points_against_groove(taken, i))
            return dw_fail(
                message, DW_BAD_INPUT,
                "%s and %s point against the groove: their two ends are exchanged, or the photographs' order "
                "is not kept.",
                lines[i].from, lines[i].to);
    if (points_against_tip(taken))
        return dw_fail(
            message, DW_BAD_INPUT,
            "%s and %s: the rear end would lie nearer to the stylus tip than the front end. The two ends are "
            "exchanged.",
            lines[DW_POSE_ARM].from, lines[DW_POSE_ARM].to);
    return DW_OK;
}

// The photographs alone, without what was touched in them.
static DwBundled *adjust_cameras(const DwPoseTaken *taken)
{
    DwBundle cameras = taken->bundle;
    cameras.point_count = cameras.line_count = 0;
    return dw_bundle_adjust(&cameras);
}

static DwStatus check_bundled(DwPoseTaken *taken, DwMessage *message)
{
    bool fits = taken->bundled != NULL;
    if (!fits)
        taken->bundled = adjust_cameras(taken);
    if (!taken->bundled || dw_bundled_rest(taken->bundled) > most_rest_px)
        return dw_fail(message, DW_BAD_INPUT,
                       "the marks do not lie as on the paper. Lay it flat, print it without fitting, and photograph it "
                       "again, in focus.");
    double angle = widest_deg(taken);
    if (angle < least_angle_deg)
        return dw_fail(message, DW_BAD_INPUT,
                       "the photographs are taken from nearly the same place (%.1f° apart): that tells no height. Take "
                       "one from farther to the side, 30° or more.",
                       angle);
    if (!fits)
        return dw_fail(message, DW_BAD_INPUT,
                       "what is touched in one photograph does not belong to what is touched in the others. Touch the "
                       "same things in each, in the photographs' order.");
    return DW_OK;
}

// The tip stands below its cantilever, unless what was touched speaks against it: then that is said, and nothing tied.
static void tie_tip(DwPoseTaken *taken)
{
    int tip = taken->point_at[DW_POSE_TIP], cantilever = taken->line_at[DW_POSE_CANTILEVER];
    taken->tip_beside = NAN;
    if (tip < 0 || cantilever < 0)
        return;
    DwPoseOf of = {.point = tip, .line = cantilever};
    double deviation, beside = dw_bundled_figure(taken->bundled, dw_pose_beside, &of, &deviation);
    if (fabs(beside) > most_beside * hypot(deviation, tip_beside_mm)) {
        taken->tip_beside = beside;
        return;
    }
    taken->bundle.tie = (DwBundleTie){tip, cantilever, tip_beside_mm};
    DwBundled *tied = dw_bundle_adjust(&taken->bundle);
    if (!tied)
        return;
    dw_bundled_free(taken->bundled);
    taken->bundled = tied;
}

// Takes lines as they were touched, TOUCHED in the bundle's order, where what was found along them in the photographs
// cannot be one and the same thing.
static void leave_contradicted(const DwBundleLine *touched, DwPoseTaken *taken)
{
    bool any = false;
    for (int i = 0; i < DW_POSE_LINES; i++) {
        size_t at = (size_t)taken->line_at[i];
        if (taken->line_at[i] < 0 || dw_bundled_line_off(taken->bundled, &taken->bundle, at) <= beside_most)
            continue;
        taken->bundle.lines[at] = touched[at];
        taken->is_left[i] = any = true;
    }
    DwBundled *again = any ? dw_bundle_adjust(&taken->bundle) : NULL;
    if (!again)
        return;
    dw_bundled_free(taken->bundled);
    taken->bundled = again;
}

static DwStatus take(const DwRequest *request, DwMarkFinder *finder, DwPhoto *photos, DwPoseTaken *taken,
                     DwMessage *message)
{
    const DwInputs *inputs = request->inputs;
    double touch_px = dw_inputs_in(inputs, "touch.uncertainty", "") / touch_95;
    taken->bundle.scale = dw_inputs_in(inputs, "print.scale", "fraction");
    DwStatus status = read_photos(request, finder, photos, taken, message);
    if (status == DW_OK)
        status = read_points(inputs, touch_px, taken, message);
    if (status == DW_OK)
        status = read_lines(inputs, touch_px, taken, message);
    if (status != DW_OK)
        return status;
    bool snaps = strcmp(dw_inputs_word(inputs, "touch.snap"), "yes") == 0;
    DwBundleLine touched[DW_BUNDLE_LINES_MOST];
    memcpy(touched, taken->bundle.lines, sizeof touched);
    for (size_t i = 0; i < taken->bundle.photo_count && snaps; i++)
        snap_lines(&photos[i].grey, i, touch_px, taken);
    taken->bundled = dw_bundle_adjust(&taken->bundle);
    status = check_bundled(taken, message);
    if (status == DW_OK && snaps)
        leave_contradicted(touched, taken);
    if (status == DW_OK)
        tie_tip(taken);
    if (status == DW_OK)
        status = check_touches(taken, message);
    return status == DW_OK ? check_ways(taken, message) : status;
}

DwStatus dw_pose_taken_read(const DwRequest *request, DwPoseTaken *taken, DwMessage *message)
{
    DwPhoto photos[DW_BUNDLE_PHOTOS_MOST] = {0};
    *taken = (DwPoseTaken){0};
    DwMarkFinder *finder = dw_mark_finder_new();
    DwStatus status = take(request, finder, photos, taken, message);
    dw_mark_finder_free(finder);
    for (size_t i = 0; i < DW_BUNDLE_PHOTOS_MOST; i++)
        dw_photo_clear(&photos[i]);
    return status;
}
