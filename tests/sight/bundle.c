// SPDX-License-Identifier: MIT
// Set-ups drawn by a pinhole of this file's own over the card: what is touched exactly is found where it is, however
// the cameras stand, with the tip tied to its cantilever and without.
#include "sight/bundle.h"

#include "support/suite.h"

#include <math.h>
#include <stdint.h>

enum { CASES = 60, WIDTH = 4000, HEIGHT = 3000 };

static const double near_mm = 0.02, tied_mm = 0.05;

static uint64_t state;

static double draw(double low, double high)
{
    state = state * 6364136223846793005u + 1442695040888963407u; // Source (memory): D. Knuth's MMIX
    return low + (high - low) * (double)(state >> 11) / 9007199254740992.0;
}

typedef struct {
    double eye[3], right[3], down[3], ahead[3], focus, bend[2];
} Pinhole;

static void cross(const double a[3], const double b[3], double out[3])
{
    for (int i = 0; i < 3; i++)
        out[i] = a[(i + 1) % 3] * b[(i + 2) % 3] - a[(i + 2) % 3] * b[(i + 1) % 3];
}

// One like LENS that looks at AT from FAR, LEANT off the paper's normal to the side AROUND, turned by ROLL about its
// axis.
static Pinhole pinhole(const Pinhole *lens, const double at[3], double far, double leant, double around, double roll)
{
    Pinhole p = {.focus = lens->focus,
                 .bend = {lens->bend[0], lens->bend[1]},
                 .ahead = {-sin(leant) * cos(around), -sin(leant) * sin(around), cos(leant)}};
    double level[3] = {-sin(around), cos(around), 0}, steep[3];
    cross(p.ahead, level, steep);
    for (int i = 0; i < 3; i++) {
        p.eye[i] = at[i] - far * p.ahead[i];
        p.right[i] = cos(roll) * level[i] + sin(roll) * steep[i];
        p.down[i] = cos(roll) * steep[i] - sin(roll) * level[i];
    }
    return p;
}

static DwPoint seen(const Pinhole *p, const double at[3])
{
    double x = 0, y = 0, z = 0;
    for (int i = 0; i < 3; i++) {
        x += p->right[i] * (at[i] - p->eye[i]);
        y += p->down[i] * (at[i] - p->eye[i]);
        z += p->ahead[i] * (at[i] - p->eye[i]);
    }
    double r2 = (x * x + y * y) / (z * z), bent = p->focus / z * (1 + r2 * (p->bend[0] + r2 * p->bend[1]));
    return (DwPoint){bent * x + WIDTH / 2.0, bent * y + HEIGHT / 2.0};
}

// The marks of the card that lie wholly in the picture.
static void see_marks(const Pinhole *p, DwBundlePhoto *photo)
{
    *photo = (DwBundlePhoto){.width = WIDTH, .height = HEIGHT};
    for (size_t i = 0; i < dw_paper_marks_count(DW_MARKED_CARD); i++) {
        DwMarkSeen *one = &photo->marks[photo->count];
        double corners[4][2];
        bool within = true;
        *one = (DwMarkSeen){.paper = DW_MARKED_CARD, .mark = dw_paper_mark(DW_MARKED_CARD, i)};
        dw_paper_mark_corners(&one->mark, corners);
        for (int k = 0; k < 4; k++) {
            const double *from = corners[k], *to = corners[(k + 1) % 4];
            one->corners[k] = seen(p, (double[]){from[0], from[1], 0});
            within = within && one->corners[k].x > 0 && one->corners[k].x < WIDTH && one->corners[k].y > 0 &&
                     one->corners[k].y < HEIGHT;
            for (size_t m = 0; m < DW_EDGE_POINTS; m++) {
                double share = dw_mark_edge_share(m);
                one->edges.points[k][m] =
                    seen(p, (double[]){from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1]), 0});
            }
        }
        photo->count += within;
    }
}

// A line touched from REAR to FRONT in both photographs, known to the tenths of a pixel that a snapped one is.
static void add_line(const Pinhole *pinholes, const double rear[3], const double front[3], DwBundle *bundle)
{
    DwBundleLine *line = &bundle->lines[bundle->line_count++];
    line->along_px = 30;
    for (int k = 0; k < 2; k++) {
        line->from[k] = seen(&pinholes[k], rear);
        line->to[k] = seen(&pinholes[k], front);
        line->doubt[k] = (DwBundleDoubt){0.035, 0.08};
        line->side_from[k][0].x = line->side_from[k][1].x = NAN;
    }
}

typedef struct {
    double tip[3], root[3];
    DwBundle bundle;
} Case;

// Returned: false where a photograph shows fewer than three marks.
static bool draw_case(Case *drawn)
{
    double to_rear = draw(0, 2 * M_PI), slope = draw(0.26, 0.45), length = draw(4.5, 6.5), side = draw(0.44, 1.05);
    double far = draw(110, 200);
    const Pinhole lens = {.focus = draw(0.68, 0.85) * WIDTH, .bend = {draw(-0.06, 0.1), draw(-0.06, 0.03)}};
    double tip[] = {draw(-40, 40), draw(-45, 45), -draw(0, 1.5)};
    Pinhole pinholes[2];
    *drawn = (Case){.bundle = {.photo_count = 2, .scale = 1, .point_count = 1}};
    for (int k = 0; k < 2; k++) {
        pinholes[k] =
            pinhole(&lens, (double[]){tip[0] + draw(-10, 10), tip[1] + draw(-10, 10), 0}, far, draw(0.52, 0.87),
                    to_rear + M_PI + (k ? -side : side) + draw(-0.1, 0.1), draw(0, 2 * M_PI));
        see_marks(&pinholes[k], &drawn->bundle.photos[k]);
        if (drawn->bundle.photos[k].count < 3)
            return false;
    }
    const double way[] = {cos(to_rear) * cos(slope), sin(to_rear) * cos(slope), -sin(slope)};
    for (int i = 0; i < 3; i++) {
        drawn->tip[i] = tip[i];
        drawn->root[i] = tip[i] + 0.7 * length * way[i];
    }
    for (int k = 0; k < 2; k++)
        drawn->bundle.points[0].seen[k] = seen(&pinholes[k], tip);
    drawn->bundle.points[0].doubt_px = 0.8;
    add_line(pinholes, drawn->root, drawn->tip, &drawn->bundle);
    return true;
}

static double apart(DwPlace found, const double at[3])
{
    return hypot(hypot(found.x - at[0], found.y - at[1]), found.z - at[2]);
}

START_TEST(what_is_touched_exactly_is_found_there)
{
    static Case drawn;
    int tried = 0;
    state = 22;
    while (tried < CASES) {
        if (!draw_case(&drawn))
            continue;
        tried++;
        for (int tied = 0; tied < 2; tied++) {
            drawn.bundle.tie = (DwBundleTie){0, 0, tied ? tied_mm : 0};
            DwBundled *bundled = dw_bundle_adjust(&drawn.bundle);
            ck_assert_msg(bundled != NULL, "case %d, tied %d: nothing found", tried, tied);
            double tip = apart(dw_bundled_point(bundled, 0), drawn.tip);
            double root = apart(dw_bundled_line_end(bundled, 0, 0), drawn.root);
            ck_assert_msg(tip < near_mm && root < near_mm, "case %d, tied %d: tip %.3f mm and root %.3f mm off", tried,
                          tied, tip, root);
            dw_bundled_free(bundled);
        }
    }
}
END_TEST

// A mark's edges as they are found in a picture: each point of them beside its place by what noise does.
static void blur_marks(DwBundlePhoto *photo)
{
    static const double off_px = 0.03;
    for (size_t i = 0; i < photo->count; i++)
        for (int k = 0; k < 4; k++)
            for (size_t m = 0; m < DW_EDGE_POINTS; m++) {
                photo->marks[i].edges.points[k][m].x += draw(-off_px, off_px);
                photo->marks[i].edges.points[k][m].y += draw(-off_px, off_px);
            }
}

// From right above the lens's focal length cannot be told from how far it is: the card is found all the same.
START_TEST(a_camera_right_above_is_found)
{
    static DwBundle bundle;
    state = 37;
    for (int number = 0; number < CASES / 2; number++) {
        const Pinhole lens = {.focus = draw(0.68, 0.85) * WIDTH, .bend = {draw(-0.06, 0.1), draw(-0.06, 0.03)}};
        Pinhole above = pinhole(&lens, (double[]){draw(-8, 8), draw(-8, 8), 0}, draw(290, 350), draw(0, 0.01),
                                draw(0, 2 * M_PI), draw(0, 2 * M_PI));
        bundle = (DwBundle){.photo_count = 1, .scale = 1};
        see_marks(&above, &bundle.photos[0]);
        blur_marks(&bundle.photos[0]);
        DwBundled *bundled = dw_bundle_adjust(&bundle);
        ck_assert_msg(bundled != NULL, "case %d: nothing found by %zu marks", number, bundle.photos[0].count);
        for (int place = 0; place < 20; place++) {
            double at[] = {draw(-80, 80), draw(-100, 100), 0};
            DwPoint is = seen(&above, at), told = dw_bundled_see(bundled, &bundle, 0, (DwPlace){at[0], at[1], at[2]});
            ck_assert_double_lt(hypot(told.x - is.x, told.y - is.y), 0.5);
        }
        dw_bundled_free(bundled);
    }
}
END_TEST

DW_SUITE("bundle", what_is_touched_exactly_is_found_there, a_camera_right_above_is_found)
