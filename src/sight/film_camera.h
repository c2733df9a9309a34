// SPDX-License-Identifier: MIT
// The camera that made a film of the disc: how it saw the platter's plane, its lens and its shutter, all from the film
// itself, and where the disc stood in each frame.
#ifndef DW_SIGHT_FILM_CAMERA_H
#define DW_SIGHT_FILM_CAMERA_H

#include "sight/film_track.h"

typedef struct {
    DwMarkedPaper paper;
    int width, height;
    double first_turn;      // of the frame that turns are counted from
    DwPlane plane;          // from the platter's plane [100 mm] to the picture [half its diagonal, from its middle]
    double bend[2];         // the lens: a point at r is seen at r (1 + bend0 r² + bend1 r⁴)
    double readout_s;       // from the first to the last row
    double readout_doubt_s; // 95 %
    double stretch, shear;  // of the print: across more than along, and askew; shares
    double bloom_px;        // how far the light eats into the black
    double rest_px;         // rms of what is left
} DwFilmCamera;

// Where the disc stands in one frame, at the time of the picture's middle row.
typedef struct {
    double turn;       // [rad], clockwise as seen; whole turns counted
    double x_mm, y_mm; // how far its middle stands beside where it stands on an average
    double doubt;      // standard deviation of TURN, by what is left of this frame [rad]
    double rest_px;
    size_t points;
} DwFilmPlace;

// Calibrates CAMERA from the frames of TRACK; ROLLING: the rows are not taken at one time.
//
// Returned: false where the frames are too few (eight) or do not fit one camera.
// Method: one adjustment of some thirty frames spread over the film: the plane's eight numbers, the lens's two, the
// shutter's, the print's two, and turn and place of the disc in each, by the distances of the edges' points from the
// edges, outliers weighed down. What a still camera sees of a turning disc tells print and lens apart.
// Reference: Z. Zhang, "A flexible new technique for camera calibration", 2000; B. Triggs and others, "Bundle
// adjustment – a modern synthesis", 2000.
bool dw_film_camera_calibrate(const DwFilmTrack *track, bool rolling, DwFilmCamera *camera);

// The disc's place in FRAME while it turns at RATE [rad/s]; false where its marks do not tell.
bool dw_film_camera_place(const DwFilmCamera *camera, const DwFilmFrame *frame, double rate, DwFilmPlace *place);

// The rate of turning about the INDEXth of COUNT frames, roughly [rad/s].
double dw_film_camera_rate(const DwFilmFrame *frames, size_t count, size_t index);

#endif
