// SPDX-License-Identifier: MIT
// The drawing of the arm that belongs to a sheet: from above for an alignment,
// from the side for a rake, none for any other.
#ifndef DW_CHART_ARM_VIEW_H
#define DW_CHART_ARM_VIEW_H

#include "chart/draw/canvas.h"

// Whether SHEET has one.
bool dw_arm_view_fits(const DwSheet *sheet);
// What it is called.
const char *dw_arm_view_title(const DwSheet *sheet);
// What it shows. The caller frees it with free().
char *dw_arm_view_words(const DwSheet *sheet);
double dw_arm_view_height(const DwSheet *sheet, double width, double em);
void dw_arm_view_draw(const DwCanvas *canvas, const DwSheet *sheet, DwBox box);

// What the drawings read off a sheet: the number of the reading, or of the input,
// called KEY; NAN without one.
double dw_arm_view_reading(const DwSheet *sheet, const char *key);
double dw_arm_view_input(const DwSheet *sheet, const char *key);

#endif
