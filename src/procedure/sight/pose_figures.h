// SPDX-License-Identifier: MIT
// What is worked out of touched points and lines over a paper, one figure at a time. Angles [deg], lengths [mm].
#ifndef DW_PROCEDURE_POSE_FIGURES_H
#define DW_PROCEDURE_POSE_FIGURES_H

#include "physics/arm.h"
#include "sight/bundle.h"

// Which points and lines a figure is of, by their places in the bundle; what it does not need is left 0.
typedef struct {
    int point, other;
    int line, than;
    const DwArm *wanted;
} DwPoseOf;

// Of a point: across, down, over the paper; from the spindle in plan; to another in plan.
double dw_pose_x(const DwPlace *points, const DwPlace *lines, const void *of);
double dw_pose_y(const DwPlace *points, const DwPlace *lines, const void *of);
double dw_pose_height(const DwPlace *points, const DwPlace *lines, const void *of);
double dw_pose_radius(const DwPlace *points, const DwPlace *lines, const void *of);
double dw_pose_apart(const DwPlace *points, const DwPlace *lines, const void *of);

// How far the nose of a line would have to turn inwards, towards the spindle, to stand along the groove at the point:
// what found.error_at means.
double dw_pose_error(const DwPlace *points, const DwPlace *lines, const void *of);
// How far a line is turned inwards against another, in plan: clockwise seen from above.
double dw_pose_turned(const DwPlace *points, const DwPlace *lines, const void *of);
// How far the point lies to the right of a line as it points, in plan.
double dw_pose_beside(const DwPlace *points, const DwPlace *lines, const void *of);
// How far a line rises to the rear.
double dw_pose_rise(const DwPlace *points, const DwPlace *lines, const void *of);

// With the pivot as the other point and the cantilever as the line: the offset as found, and found.slip and
// found.twist against the wanted arm's length and offset.
double dw_pose_offset(const DwPlace *points, const DwPlace *lines, const void *of);
double dw_pose_slip(const DwPlace *points, const DwPlace *lines, const void *of);
double dw_pose_twist(const DwPlace *points, const DwPlace *lines, const void *of);

#endif
