// SPDX-License-Identifier: MIT
// What stands and lies on a paper, and what light comes back from it along a line of sight. Frame as in view_camera.h.
#ifndef DW_SYNTH_VIEW_SCENE_H
#define DW_SYNTH_VIEW_SCENE_H

#include <stdbool.h>
#include <stdint.h>

// The printed page as a picture: 0 black to 255 white.
typedef struct {
    const uint8_t *pixels;
    int width, height;
    double per_mm;             // pixels
    double origin_x, origin_y; // of the paper's origin, in pixels
    double scale;              // of the print: what its millimetre measures
    double cut_mm;             // a disc is cut out along it; NAN: the whole page lies there
} DwViewPaper;

typedef enum { DW_SOLID_BOX, DW_SOLID_ROD } DwSolidKind;

// A box by its middle, or a round rod, along AXES[0].
typedef struct {
    DwSolidKind kind;
    double middle[3], axes[3][3], half[3]; // the halves along the axes; of a rod HALF[1] is the radius
    double light;                          // the share that it throws back, squarely lit
} DwSolid;

enum { DW_SOLIDS_MOST = 8 };

// A belt on edge: its inside is a stretch of straight between two half circles, turned about the paper's origin.
typedef struct {
    double radius_mm, straight_mm, turn; // of the inside
    double wall_mm, high_mm;             // 0 high: there is none
} DwViewBelt;

typedef struct {
    DwViewPaper paper;
    DwSolid solids[DW_SOLIDS_MOST];
    int solid_count;
    DwViewBelt belt;
    double beside; // light from what lies beside the paper
} DwScene;

// A rod from FROM to TO.
void dw_scene_add_rod(DwScene *scene, const double from[3], const double to[3], double radius_mm, double light);
// A box whose lower front edge has its middle at FRONT, lying along AHEAD (level, of length 1) to the rear.
void dw_scene_add_box(DwScene *scene, const double front[3], const double ahead[3], const double size[3], double light);

// The light of the paper at X, Y in millimetres.
double dw_scene_paper(const DwScene *scene, double x_mm, double y_mm);
// How far along WAY from AT SOLID is met, and in LIGHT what comes from there; INFINITY where it is missed.
double dw_scene_meet(const DwSolid *solid, const double at[3], const double way[3], double *light);
// Whether the belt hides the paper from AT along WAY.
bool dw_scene_belt_meets(const DwViewBelt *belt, const double at[3], const double way[3]);

#endif
