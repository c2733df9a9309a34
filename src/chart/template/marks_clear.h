// SPDX-License-Identifier: MIT
// Marks among what else is drawn on a paper: those whose places it leaves white.
#ifndef DW_CHART_MARKS_CLEAR_H
#define DW_CHART_MARKS_CLEAR_H

#include "base/paper_marks.h"
#include "chart/draw/canvas.h"

// What the marks stand among, in the drawing's millimetres.
typedef struct {
    void (*draw)(const DwCanvas *canvas, const void *user); // all of it but the marks
    const void *user;
    DwBox room;                // where marks may stand, from 0, 0 to the right and down
    double origin_x, origin_y; // of the paper's marks
    double near[2][2];         // two places that they are wanted about
} DwMarksAmong;

// Draws marks of PAPER on CANVAS where AMONG is white for a good millimetre around: DW_PAPER_MARKS_MOST of them at
// most, those nearest to either place.
void dw_marks_draw_clear(const DwCanvas *canvas, DwMarkedPaper paper, const DwMarksAmong *among);

#endif
