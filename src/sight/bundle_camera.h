// SPDX-License-Identifier: MIT
// How a camera of a bundle sees points, lines and tubes [100 mm of the paper's frame] in its picture [pixels]. Within
// this folder only.
#ifndef DW_SIGHT_BUNDLE_CAMERA_H
#define DW_SIGHT_BUNDLE_CAMERA_H

#include "sight/bundle.h"

// TURN, a rotation vector, as a matrix (O. Rodrigues, 1840).
void dw_bundle_matrix_of(const double *turn, double m[3][3]);

// Where CAMERA sees AT [100 mm], in pixels.
DwPoint dw_bundle_camera_see(const DwBundleCamera *camera, const double at[3]);

// Where CAMERA stands [100 mm].
void dw_bundle_camera_eye(const DwBundleCamera *camera, double eye[3]);

// How far the POINT lies to the left of the way from FROM to TO.
double dw_bundle_beside(DwPoint point, DwPoint at, DwPoint from, DwPoint to);

// How far the lens bends the middle of what runs from FROM to TO out of the straight line, to its left [pixels].
double dw_bundle_camera_bend(const DwBundleCamera *camera, const double *from, const double *to);

// Where CAMERA sees the skin of a tube of RADIUS at AT on its axis, on the SIDE (-1, 1) of it: where the skin's normal
// stands square to the ray.
DwPoint dw_bundle_camera_side(const DwBundleCamera *camera, const double *at, const double along[3], double radius,
                              int side);

// The places on the line through PLACE and PLACE + 3 that CAMERA sees beside FROM and TO: what was touched in one
// photograph need not reach as far as what was touched in another.
void dw_bundle_camera_reach(const DwBundleCamera *camera, DwPoint from, DwPoint to, const double *place,
                            double ends[6]);

// The place at HEIGHT [100 mm] over the paper that CAMERA sees at SEEN.
void dw_bundle_camera_meet(const DwBundleCamera *camera, DwPoint seen, double height, double *place);

#endif
