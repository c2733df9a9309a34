// SPDX-License-Identifier: MIT
// What a described camera makes of a scene: a photograph, or the frames of a film of the disc as it turns.
#ifndef DW_SYNTH_VIEW_PICTURE_H
#define DW_SYNTH_VIEW_PICTURE_H

#include "synth/random.h"
#include "synth/view_camera.h"
#include "synth/view_scene.h"

typedef struct {
    double noise;   // standard deviation, in levels of 255
    double shading; // what the corners lose of the light, a share
    DwRandom random;
} DwViewSensor;

// Renders SCENE into PIXELS (width times height of CAMERA, a byte each). A pixel is the mean of nine places in it.
void dw_view_photograph(const DwViewCamera *camera, const DwScene *scene, DwViewSensor *sensor, uint8_t *pixels);

// Where the platter stands SECONDS into the film [rad], clockwise from above.
typedef double (*DwViewAngle)(double seconds, const void *user);

typedef struct {
    double readout_s, exposure_s; // from the first to the last row; of each row
    double off_mm;                // how far the disc's middle lies beside the spindle
    DwViewAngle angle;
    const void *user;
} DwViewTurning;

typedef struct DwViewFilm DwViewFilm;

// The arguments are copied, but for the paper's pixels and what TURNING's user points to, which must stay. The caller
// frees it with dw_view_film_free().
DwViewFilm *dw_view_film_new(const DwViewCamera *camera, const DwScene *scene, const DwViewTurning *turning,
                             const DwViewSensor *sensor);
void dw_view_film_free(DwViewFilm *film);
// The frame whose first row's exposure begins at SECONDS. A pixel is the mean of four places in it, each at a moment of
// its own of the exposure.
void dw_view_film_frame(DwViewFilm *film, double seconds, uint8_t *pixels);

#endif
