// SPDX-License-Identifier: MIT
// A described set-up as a camera would see it: the paper, what stands on it, and where the camera stands.
#ifndef DW_PROCEDURE_VIEW_SET_UP_H
#define DW_PROCEDURE_VIEW_SET_UP_H

#include "base/inputs.h"
#include "synth/view_camera.h"
#include "synth/view_scene.h"

#include <stdbool.h>

typedef enum { DW_VIEW_ARM, DW_VIEW_BELT, DW_VIEW_DISC, DW_VIEW_CARD } DwViewKind;

// What a finger would touch, in the order of dw_view_touches.
typedef enum {
    DW_TOUCH_TIP,
    DW_TOUCH_CANTILEVER_ROOT,
    DW_TOUCH_CANTILEVER_FRONT,
    DW_TOUCH_BODY_REAR,
    DW_TOUCH_BODY_FRONT,
    DW_TOUCH_SHELL_REAR,
    DW_TOUCH_SHELL_FRONT,
    DW_TOUCH_ARM_REAR,
    DW_TOUCH_ARM_FRONT,
    DW_TOUCHES,
} DwViewTouch;
extern const char *const dw_view_touches[DW_TOUCHES]; // their keys

typedef struct {
    DwViewKind kind;
    DwScene scene;              // its paper's pixels are owned
    double target[3], reach_mm; // what a camera looks at, and how far that reaches about it
    double front_rad;           // from where `side` counts
    double touches[DW_TOUCHES][3];
    double radius_mm, body_error_deg, skew_deg, rise_deg; // as pose counts them
    double length_mm;                                     // of the belt, inside
} DwViewSetUp;

// Reads what INPUTS describe; a film shows the disc, whatever synth.scene says. What cannot be is DW_BAD_INPUT with one
// line. The caller clears SET_UP, on success.
DwStatus dw_view_set_up_read(const DwInputs *inputs, bool is_film, DwViewSetUp *set_up, DwMessage *message);
void dw_view_set_up_clear(DwViewSetUp *set_up);

// Stands the INDEXth of COUNT cameras before SET_UP.
void dw_view_set_up_aim(const DwViewSetUp *set_up, const DwInputs *inputs, bool is_film, size_t index, size_t count,
                        DwViewCamera *camera);

#endif
