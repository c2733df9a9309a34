// SPDX-License-Identifier: MIT
// What photographs of one set-up show before anything is touched in them: whether they can serve, and where each
// camera stood.
#ifndef DW_PROCEDURE_POSE_CAMERAS_H
#define DW_PROCEDURE_POSE_CAMERAS_H

#include "sight/bundle.h"

// What is still missing.
typedef enum {
    DW_POSE_WANTS_NOTHING,
    DW_POSE_WANTS_A_PAPER,   // no mark is seen
    DW_POSE_WANTS_MARKS,     // too few
    DW_POSE_WANTS_ONE_PAPER, // they show different ones
    DW_POSE_WANTS_IT_FLAT,   // the marks do not lie as on the paper
    DW_POSE_WANTS_A_SECOND,  // there is one picture
    DW_POSE_WANTS_A_SIDE,    // they are taken from nearly the same place
    DW_POSE_WANTS_THE_RIGHT, // another from farther to the right, as one looks at the paper
    DW_POSE_WANTS_THE_LEFT,
    DW_POSE_WANTS,
} DwPoseWant;

typedef struct {
    DwPoseWant want;  // of this photograph alone
    size_t marks, of; // seen, and on the paper
    DwBundleCamera camera;
} DwPoseSeen;

typedef struct {
    DwPoseSeen photos[DW_BUNDLE_PHOTOS_MOST];
    size_t count;
    bool placed;     // all can serve, and each camera is known
    DwPoseWant want; // of them together
} DwPoseCameras;

// Looks at COUNT photographs, one or more. What is wrong with one is said in its place: nothing fails.
void dw_pose_cameras_read(const char *const *paths, size_t count, DwPoseCameras *cameras);

#endif
