// SPDX-License-Identifier: MIT
// A described camera over a described paper. Millimetres from the paper's origin: x to the right, y down as it is
// drawn, z into the table; what stands on the paper has z < 0. Pixels count from the upper left corner of the picture.
#ifndef DW_SYNTH_VIEW_CAMERA_H
#define DW_SYNTH_VIEW_CAMERA_H

typedef struct {
    int width, height;
    double focus_px;
    double bend[2];    // the lens: what is at r, in focal lengths, is seen at r (1 + bend0 r² + bend1 r⁴)
    double at[3];      // where it stands
    double turn[3][3]; // its right, its down, its forward
} DwViewCamera;

// Stands CAMERA at DISTANCE_MM from TARGET, TILT out of the upright, towards SIDE (both [rad]; 0 is the paper's right,
// clockwise from above), and turns it to TARGET, the paper's upper edge up as far as can be.
void dw_view_camera_aim(DwViewCamera *camera, const double target[3], double distance_mm, double tilt, double side);
// The direction, not of any length, from which the light falls on the point X, Y of the picture.
void dw_view_camera_ray(const DwViewCamera *camera, double x, double y, double way[3]);
// Where in the picture PLACE is seen.
void dw_view_camera_see(const DwViewCamera *camera, const double place[3], double *x, double *y);

#endif
