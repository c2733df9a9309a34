// SPDX-License-Identifier: MIT
// The marks of a drawing with measures: arrows, dimension lines that carry the
// name of what they measure, and arcs between two directions. Angles are in
// radians, 0 to the right, clockwise as the page is seen.
#ifndef DW_CHART_DIMENSION_H
#define DW_CHART_DIMENSION_H

#include "chart/draw/canvas.h"

typedef struct {
    double x, y;
} DwSpot;

// The spot LENGTH away from FROM in the direction ANGLE.
DwSpot dw_spot_at(DwSpot from, double angle, double length);
// The direction from FROM to TO.
double dw_spot_towards(DwSpot from, DwSpot to);

// A straight line, WIDTH wide; DASHED in the canvas's em.
void dw_dimension_stroke(const DwCanvas *canvas, DwSpot from, DwSpot to, double width, bool dashed, DwInk ink);
// A filled arrow's head at TIP.
void dw_dimension_head(const DwCanvas *canvas, DwSpot tip, double angle, DwInk ink);
// An arrow from FROM to TO.
void dw_dimension_arrow(const DwCanvas *canvas, DwSpot from, DwSpot to, DwInk ink);

// A dimension line from FROM to TO, moved ASIDE to the right of that direction
// (negative: to the left), with TEXT at its middle, along it and upright to read.
void dw_dimension_draw(const DwCanvas *canvas, DwSpot from, DwSpot to, double aside, const char *text);
// An arc about CENTRE from one direction to the other, with an arrow's head at
// its end; TEXT stands outside its middle.
void dw_dimension_angle(const DwCanvas *canvas, DwSpot centre, double radius, double from, double to, const char *text,
                        DwInk ink);
// A short text with its middle at SPOT, on the ground so that lines do not run through it.
void dw_dimension_label(const DwCanvas *canvas, DwSpot spot, double angle, double align, DwInk ink, const char *text);

#endif
