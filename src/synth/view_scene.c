// SPDX-License-Identifier: MIT
#include "synth/view_scene.h"

#include <assert.h>
#include <math.h>

static const double paper_light = 0.75, ink_light = 0.05;
static const double lamp[3] = {-0.35, -0.45, -0.82}; // where the light comes from, of length 1
enum { BELT_STEPS = 9 };

static double dot(const double a[3], const double b[3])
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

static void cross(const double a[3], const double b[3], double out[3])
{
    for (int i = 0; i < 3; i++)
        out[i] = a[(i + 1) % 3] * b[(i + 2) % 3] - a[(i + 2) % 3] * b[(i + 1) % 3];
}

static DwSolid *add(DwScene *scene, DwSolidKind kind, double light)
{
    assert(scene->solid_count < DW_SOLIDS_MOST);
    DwSolid *solid = &scene->solids[scene->solid_count++];
    *solid = (DwSolid){.kind = kind, .light = light};
    return solid;
}

// Two directions square to the first, the second level where that can be.
static void square_axes(DwSolid *solid)
{
    const double up[3] = {0, 0, -1}, right[3] = {1, 0, 0};
    double *along = solid->axes[0], *across = solid->axes[1];
    cross(up, along, across);
    if (dot(across, across) < 1e-12)
        cross(right, along, across);
    double length = sqrt(dot(across, across));
    for (int i = 0; i < 3; i++)
        across[i] /= length;
    cross(along, across, solid->axes[2]);
}

void dw_scene_add_rod(DwScene *scene, const double from[3], const double to[3], double radius_mm, double light)
{
    DwSolid *rod = add(scene, DW_SOLID_ROD, light);
    for (int i = 0; i < 3; i++) {
        rod->middle[i] = (from[i] + to[i]) / 2;
        rod->axes[0][i] = to[i] - from[i];
    }
    double length = sqrt(dot(rod->axes[0], rod->axes[0]));
    for (int i = 0; i < 3; i++)
        rod->axes[0][i] /= length;
    square_axes(rod);
    rod->half[0] = length / 2;
    rod->half[1] = rod->half[2] = radius_mm;
}

void dw_scene_add_box(DwScene *scene, const double front[3], const double ahead[3], const double size[3], double light)
{
    DwSolid *box = add(scene, DW_SOLID_BOX, light);
    for (int i = 0; i < 3; i++) {
        box->axes[0][i] = ahead[i];
        box->middle[i] = front[i] + ahead[i] * size[0] / 2 - (i == 2) * size[2] / 2;
        box->half[i] = size[i] / 2;
    }
    square_axes(box);
}

static double page_at(const DwViewPaper *paper, double x, double y)
{
    double u = x * paper->per_mm / paper->scale + paper->origin_x - 0.5;
    double v = y * paper->per_mm / paper->scale + paper->origin_y - 0.5;
    if (!(u >= 0 && v >= 0 && u < paper->width - 1 && v < paper->height - 1))
        return NAN;
    int left = (int)u, top = (int)v;
    double right = u - left, low = v - top;
    const uint8_t *p = paper->pixels + (long)top * paper->width + left, *q = p + paper->width;
    return ((1 - low) * ((1 - right) * p[0] + right * p[1]) + low * ((1 - right) * q[0] + right * q[1])) / 255;
}

double dw_scene_paper(const DwScene *scene, double x_mm, double y_mm)
{
    const DwViewPaper *paper = &scene->paper;
    double cut = paper->cut_mm * paper->scale;
    if (!isnan(cut) && x_mm * x_mm + y_mm * y_mm > cut * cut)
        return scene->beside;
    double white = page_at(paper, x_mm, y_mm);
    return isnan(white) ? scene->beside : ink_light + white * (paper_light - ink_light);
}

// What comes back from a skin whose outward normal is NORMAL: the lamp's share and the room's.
static double lit(const DwSolid *solid, const double normal[3])
{
    return solid->light * (0.45 + 0.55 * fmax(0, dot(normal, lamp)));
}

static double meet_box(const DwSolid *box, const double at[3], const double way[3], double *light)
{
    double near = -INFINITY, far = INFINITY, sign = 1;
    int face = 0;
    const double off[3] = {at[0] - box->middle[0], at[1] - box->middle[1], at[2] - box->middle[2]};
    for (int i = 0; i < 3; i++) {
        double place = dot(off, box->axes[i]), speed = dot(way, box->axes[i]);
        double first = (-box->half[i] - place) / speed, last = (box->half[i] - place) / speed;
        double in = fmin(first, last), out = fmax(first, last);
        if (in > near) {
            near = in;
            face = i;
            sign = speed > 0 ? -1 : 1;
        }
        far = fmin(far, out);
    }
    if (!(near > 0 && near < far))
        return INFINITY;
    const double normal[3] = {sign * box->axes[face][0], sign * box->axes[face][1], sign * box->axes[face][2]};
    *light = lit(box, normal);
    return near;
}

static double meet_rod(const DwSolid *rod, const double at[3], const double way[3], double *light)
{
    const double off[3] = {at[0] - rod->middle[0], at[1] - rod->middle[1], at[2] - rod->middle[2]};
    double p1 = dot(off, rod->axes[1]), p2 = dot(off, rod->axes[2]);
    double w1 = dot(way, rod->axes[1]), w2 = dot(way, rod->axes[2]);
    double a = w1 * w1 + w2 * w2, b = p1 * w1 + p2 * w2, c = p1 * p1 + p2 * p2 - rod->half[1] * rod->half[1];
    double under = b * b - a * c;
    if (!(under > 0 && a > 0))
        return INFINITY;
    double far = (-b - sqrt(under)) / a, along = dot(off, rod->axes[0]) + far * dot(way, rod->axes[0]);
    if (!(far > 0 && fabs(along) < rod->half[0]))
        return INFINITY;
    double n1 = (p1 + far * w1) / rod->half[1], n2 = (p2 + far * w2) / rod->half[1], normal[3];
    for (int i = 0; i < 3; i++)
        normal[i] = n1 * rod->axes[1][i] + n2 * rod->axes[2][i];
    *light = lit(rod, normal);
    return far;
}

double dw_scene_meet(const DwSolid *solid, const double at[3], const double way[3], double *light)
{
    return solid->kind == DW_SOLID_BOX ? meet_box(solid, at, way, light) : meet_rod(solid, at, way, light);
}

bool dw_scene_belt_meets(const DwViewBelt *belt, const double at[3], const double way[3])
{
    double c = cos(belt->turn), s = sin(belt->turn);
    for (int i = 0; i < BELT_STEPS; i++) {
        double far = (-belt->high_mm * i / (BELT_STEPS - 1) - at[2]) / way[2];
        double x = at[0] + far * way[0], y = at[1] + far * way[1];
        double along = c * x + s * y, across = c * y - s * x;
        double out = hypot(fmax(0, fabs(along) - belt->straight_mm / 2), across) - belt->radius_mm;
        if (out >= 0 && out <= belt->wall_mm)
            return true;
    }
    return false;
}
