// SPDX-License-Identifier: MIT
#include "sight/bundle.h"

#include "base/memory.h"
#include "dsp/statistics.h"
#include "sight/adjust.h"
#include "sight/bundle_inside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { PASSES = 3, ROUNDS_MOST = 60, EDGE_POINTS = 4 * DW_EDGE_POINTS };

struct DwBundled {
    size_t photos, points, lines, unknowns;
    double *answer, *covariance;
    double rest_px;
};

static void add_sightings(const DwBundlePhoto *photo, size_t number, DwBundleAdjustment *a)
{
    for (size_t i = 0; i < photo->count; i++) {
        double corners[4][2];
        dw_paper_mark_corners(&photo->marks[i].mark, corners);
        for (size_t side = 0; side < 4; side++)
            for (size_t point = 0; point < DW_EDGE_POINTS; point++) {
                const double *from = corners[side], *to = corners[(side + 1) % 4];
                double share = dw_mark_edge_share(point);
                a->sightings[a->count++] = (DwBundleSighting){
                    .on_paper = {from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])},
                    .before = {from[0], from[1]},
                    .after = {to[0], to[1]},
                    .seen = photo->marks[i].edges.points[side][point],
                    .weight = 1,
                    .photo = number};
            }
    }
}

// Sets the sightings' weights by how far off they are. Returned: how far usually [pixels].
static double weigh(DwBundleAdjustment *a, const double *u)
{
    double *residuals = dw_memory_new(a->residuals, sizeof *residuals), *sizes = dw_memory_new(a->count, sizeof *sizes);
    for (size_t i = 0; i < a->count; i++)
        a->sightings[i].weight = 1;
    dw_bundle_fill(u, residuals, a);
    for (size_t i = 0; i < a->count; i++)
        sizes[i] = fabs(residuals[i]) * DW_BUNDLE_EXPECTED_PX;
    double usual = fmax(0.01, 1.4826 * dw_statistics_middle(sizes, a->count));
    for (size_t i = 0; i < a->count; i++) {
        double share = fabs(residuals[i]) * DW_BUNDLE_EXPECTED_PX / usual;
        a->sightings[i].weight = (share < 2   ? 1
                                  : share < 6 ? sqrt(2 / share)
                                              : 0) *
                                 DW_BUNDLE_EXPECTED_PX / fmax(usual, 0.03);
    }
    free(residuals);
    free(sizes);
    return usual;
}

// The cameras alone first: what is touched then starts from where they stand.
static bool adjust_cameras(const DwBundleAdjustment *a, double *u)
{
    DwBundle cameras = *a->bundle;
    cameras.point_count = cameras.line_count = 0;
    DwBundleAdjustment alone = *a; // with the same sightings, whose weights stay
    alone.bundle = &cameras;
    alone.residuals = a->count + ALL_KNOWN + EACH_KNOWN * cameras.photo_count;
    DwAdjust problem = {SHARED + OWN * cameras.photo_count, alone.residuals, dw_bundle_fill, &alone, ROUNDS_MOST, NULL};
    if (!dw_adjust(&problem, u, NULL, NULL))
        return false;
    weigh(&alone, u);
    return true;
}

static bool adjust_all(DwBundleAdjustment *a, DwBundled *bundled)
{
    const DwBundle *b = a->bundle;
    if (!dw_bundle_start_cameras(a, bundled->answer) || !adjust_cameras(a, bundled->answer))
        return false;
    dw_bundle_start_touched(a, bundled->answer);
    a->residuals = a->count + b->photo_count * (POINT_SEEN * b->point_count + LINE_SEEN * b->line_count + EACH_KNOWN) +
                   b->line_count + ALL_KNOWN;
    DwAdjust problem = {bundled->unknowns, a->residuals, dw_bundle_fill, a, ROUNDS_MOST, NULL};
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
    DwBundleAdjustment a = {.bundle = bundle};
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
    return (DwPlace){DW_BUNDLE_UNIT_MM * at[0], DW_BUNDLE_UNIT_MM * at[1], DW_BUNDLE_UNIT_MM * at[2]};
}

DwPlace dw_bundled_camera(const DwBundled *bundled, size_t index)
{
    DwBundleCamera camera = {.focus = 1};
    double eye[3];
    dw_bundle_stand(bundled->answer, index, &camera);
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
    const DwBundleAdjustment a = {.bundle = bundle};
    return dw_bundle_camera_of(&a, bundled->answer, index);
}

DwPoint dw_bundled_see(const DwBundled *bundled, const DwBundle *bundle, size_t index, DwPlace at)
{
    DwBundleCamera camera = dw_bundled_lens(bundled, bundle, index);
    return dw_bundle_camera_see(
        &camera, (const double[]){at.x / DW_BUNDLE_UNIT_MM, at.y / DW_BUNDLE_UNIT_MM, at.z / DW_BUNDLE_UNIT_MM});
}

// The largest of what dw_bundle_fill_line() says of the INDEXth line, from FIRST on to before LAST.
static double largest_off(const DwBundled *bundled, const DwBundle *bundle, size_t index, int first, int last)
{
    const double *place =
        bundled->answer + SHARED + OWN * bundled->photos + POINT_PLACE * bundled->points + LINE_PLACE * index;
    double most = 0;
    for (size_t k = 0; k < bundled->photos; k++) {
        DwBundleCamera camera = dw_bundled_lens(bundled, bundle, k);
        double off[LINE_SEEN];
        dw_bundle_fill_line(bundle, &bundle->lines[index], k, &camera, place, off);
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
