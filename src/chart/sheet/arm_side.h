// SPDX-License-Identifier: MIT
// A rake's sheet as a drawing: the arm from the side with the height of its
// pivot and what it is to be raised, the stylus's angle as found and as wanted,
// and the wedge that would do instead.
#ifndef DW_CHART_ARM_SIDE_H
#define DW_CHART_ARM_SIDE_H

#include "chart/draw/canvas.h"

// Whether SHEET tells of a rake that can be drawn.
bool dw_arm_side_fits(const DwSheet *sheet);
// Its title and what it shows in a sentence or two. The caller frees the words with free().
const char *dw_arm_side_title(void);
char *dw_arm_side_words(const DwSheet *sheet);
// The height that the drawing takes in WIDTH.
double dw_arm_side_height(double width);
void dw_arm_side_draw(const DwCanvas *canvas, const DwSheet *sheet, DwBox box);

#endif
