// SPDX-License-Identifier: MIT
#include "procedure/sight/pose_figures.h"

#include <math.h>

static const double degree = M_PI / 180;

static const DwPlace *point_of(const DwPlace *points, const DwPoseOf *of)
{
    return &points[of->point];
}

double dw_pose_x(const DwPlace *points, const DwPlace *lines, const void *of)
{
    (void)lines;
    return point_of(points, of)->x;
}

double dw_pose_y(const DwPlace *points, const DwPlace *lines, const void *of)
{
    (void)lines;
    return point_of(points, of)->y;
}

double dw_pose_height(const DwPlace *points, const DwPlace *lines, const void *of)
{
    (void)lines;
    return -point_of(points, of)->z; // z runs into the paper
}

double dw_pose_radius(const DwPlace *points, const DwPlace *lines, const void *of)
{
    (void)lines;
    return hypot(point_of(points, of)->x, point_of(points, of)->y);
}

double dw_pose_apart(const DwPlace *points, const DwPlace *lines, const void *of)
{
    (void)lines;
    const DwPoseOf *which = of;
    const DwPlace *a = &points[which->point], *b = &points[which->other];
    return hypot(a->x - b->x, a->y - b->y);
}

// A line in plan, from its rear end to its front.
static void direction_of(const DwPlace *lines, int line, double *x, double *y)
{
    const DwPlace *rear = &lines[2 * line], *front = rear + 1;
    *x = front->x - rear->x;
    *y = front->y - rear->y;
}

double dw_pose_error(const DwPlace *points, const DwPlace *lines, const void *of)
{
    const DwPoseOf *which = of;
    const DwPlace *at = point_of(points, of);
    double x, y;
    direction_of(lines, which->line, &x, &y);
    // The groove runs clockwise: at (x, y), y down, along (−y, x); inwards is along (−x, −y).
    return -atan2(-x * at->x - y * at->y, -x * at->y + y * at->x) / degree;
}

double dw_pose_turned(const DwPlace *points, const DwPlace *lines, const void *of)
{
    (void)points;
    const DwPoseOf *which = of;
    double x, y, u, v;
    direction_of(lines, which->line, &x, &y);
    direction_of(lines, which->than, &u, &v);
    return atan2(u * y - v * x, u * x + v * y) / degree;
}

double dw_pose_beside(const DwPlace *points, const DwPlace *lines, const void *of)
{
    const DwPoseOf *which = of;
    const DwPlace *at = point_of(points, of), *rear = &lines[2 * which->line];
    double x, y;
    direction_of(lines, which->line, &x, &y);
    return ((at->y - rear->y) * x - (at->x - rear->x) * y) / hypot(x, y);
}

double dw_pose_rise(const DwPlace *points, const DwPlace *lines, const void *of)
{
    (void)points;
    const DwPoseOf *which = of;
    double x, y;
    direction_of(lines, which->line, &x, &y);
    return atan2(lines[2 * which->line + 1].z - lines[2 * which->line].z, hypot(x, y)) / degree;
}

double dw_pose_offset(const DwPlace *points, const DwPlace *lines, const void *of)
{
    const DwPoseOf *which = of;
    const DwPlace *pivot = &points[which->other];
    DwArm arm = {hypot(pivot->x, pivot->y), dw_pose_apart(points, lines, of), 0};
    return dw_arm_tracking_angle(&arm, dw_pose_radius(points, lines, of)) - dw_pose_error(points, lines, of);
}

// How far the cartridge axis passes the pivot, and how far along it the tip stands, of the wanted arm.
static double aside_of(const DwArm *wanted)
{
    return wanted->effective_length_mm * sin(wanted->offset_deg * degree);
}

double dw_pose_slip(const DwPlace *points, const DwPlace *lines, const void *of)
{
    const DwPoseOf *which = of;
    double length = dw_pose_apart(points, lines, of), aside = aside_of(which->wanted);
    return sqrt(length * length - aside * aside) -
           which->wanted->effective_length_mm * cos(which->wanted->offset_deg * degree);
}

double dw_pose_twist(const DwPlace *points, const DwPlace *lines, const void *of)
{
    const DwPoseOf *which = of;
    double slid = asin(aside_of(which->wanted) / dw_pose_apart(points, lines, of)) / degree;
    return dw_pose_offset(points, lines, of) - slid;
}
