// SPDX-License-Identifier: MIT
// What the drawings of forms (form_view.h) are made of, and the drawings themselves.
#ifndef DW_CHART_FORM_DRAWING_H
#define DW_CHART_FORM_DRAWING_H

#include "base/inputs.h"
#include "chart/draw/dimension.h"

typedef struct {
    const DwCanvas *canvas;
    const DwInputs *inputs;
    DwBox box;
} DwFormDrawing;

// KEY in UNIT as it was given (of what repeats the last), NAN when it was not.
double dw_form_given(const DwFormDrawing *view, const char *key, const char *unit);
// "rim 150 mm", or "rim ?" while nobody has said it; NAME is said in the language of whoever draws. The caller frees
// it.
char *dw_form_value(const char *name, double value, const char *unit);
// TEXT, which they take, at a spot, or along a dimension.
void dw_form_label(const DwFormDrawing *view, double x, double y, double align, DwInk ink, char *text);
void dw_form_measure(const DwFormDrawing *view, DwSpot from, DwSpot to, double aside, char *text);
void dw_form_circle(const DwFormDrawing *view, DwSpot centre, double radius, DwInk ink);
void dw_form_rectangle(const DwFormDrawing *view, DwBox box, DwInk ink);
void dw_form_line(const DwFormDrawing *view, DwSpot from, DwSpot to, bool dashed, DwInk ink);

// --- form_parts.c: parts of a deck -----------------------------------
// Each draws what its form asks for, with what is given so far.
void dw_form_draw_bearing(const DwFormDrawing *view);
void dw_form_draw_resonance(const DwFormDrawing *view);
void dw_form_draw_load(const DwFormDrawing *view);
void dw_form_draw_strobe(const DwFormDrawing *view);
void dw_form_draw_reseat(const DwFormDrawing *view);

// --- form_takes.c: what a recording holds ----------------------------
// Each draws what its form asks for, with what is given so far.
void dw_form_draw_startup(const DwFormDrawing *view);
void dw_form_draw_ratio(const DwFormDrawing *view);
// A strip of the recording's seconds with the bands that were named.
void dw_form_draw_take(const DwFormDrawing *view);
void dw_form_draw_steps(const DwFormDrawing *view);

#endif
