// SPDX-License-Identifier: MIT
// An alignment's sheet as a drawing to scale: spindle, pivot, arc, cartridge
// and both angles as seen from above, each dimension line with the name of
// what it measures, and beside it the headshell with the move as arrows.
#ifndef DW_CHART_ARM_PLAN_H
#define DW_CHART_ARM_PLAN_H

#include "chart/draw/canvas.h"

// Whether SHEET tells of an arm that can be drawn.
bool dw_arm_plan_fits(const DwSheet *sheet);
// Its title and what it shows in a sentence or two. The caller frees the words with free().
const char *dw_arm_plan_title(void);
char *dw_arm_plan_words(const DwSheet *sheet);
// The height that the drawing takes in WIDTH, with letters of EM.
double dw_arm_plan_height(const DwSheet *sheet, double width, double em);
void dw_arm_plan_draw(const DwCanvas *canvas, const DwSheet *sheet, DwBox box);

#endif
