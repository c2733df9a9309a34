// SPDX-License-Identifier: MIT
// What the drawings of forms (form_view.h) are made of, and the drawings themselves.
#ifndef DW_CHART_FORM_DRAWING_H
#define DW_CHART_FORM_DRAWING_H

#include "base/text.h"
#include "chart/draw/dimension.h"
#include "chart/sheet/form_view.h"

typedef struct {
    const DwCanvas *canvas;
    const DwInputs *inputs;
    const DwFormSaid *said;
    DwBox box;
    DwText *told; // what stands on it, for those who cannot see it
} DwFormDrawing;

// KEY in UNIT as it was given (of what repeats the last), NAN when it was not.
double dw_form_given(const DwFormDrawing *view, const char *key, const char *unit);
// "rim 150 mm", or "rim ?" while nobody has said it; NAME is said in the language of whoever draws. The caller frees
// it.
char *dw_form_value(const char *name, double value, const char *unit);
// TEXT, which they take, at a spot, or along a dimension.
void dw_form_label(const DwFormDrawing *view, double x, double y, double align, DwInk ink, char *text);
// TEXT, which they take, in lines of WIDTH with its top at Y. Returned: its height.
double dw_form_words(const DwFormDrawing *view, double x, double y, double width, DwInk ink, char *text);
// TEXT, which they keep, stands on the drawing as well.
void dw_form_tell(const DwFormDrawing *view, const char *text);
// TEXT in LETTERS from X on, cut in its middle to MOST wide.
void dw_form_name(const DwFormDrawing *view, DwLetters letters, double x, double y, double most, const char *text);
// A filled disc.
void dw_form_dot(const DwFormDrawing *view, DwSpot centre, double radius, DwInk ink);
// Whether the drawing is too narrow for two things side by side.
bool dw_form_is_narrow(const DwFormDrawing *view);
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
// A strip of LAST seconds, and under it from where to where it is used.
typedef struct {
    double left, scale, y; // of its beginning; of a second; of its middle
} DwFormStrip;
DwFormStrip dw_form_strip(const DwFormDrawing *view, double y, double last);
// The last second that is named, or a minute.
double dw_form_last_second(const DwFormDrawing *view);

// --- form_sight.c: what a camera sees ---------------------------------
// Each draws what its form asks for, with what is given so far.
void dw_form_draw_belt(const DwFormDrawing *view);
void dw_form_draw_film(const DwFormDrawing *view);
// A telephone seen from its edge about SPOT, its camera towards ANGLE.
void dw_form_telephone(const DwFormDrawing *view, DwSpot spot, double angle);

// --- form_pose.c -------------------------------------------------------
void dw_form_draw_pose(const DwFormDrawing *view);

// --- form_music.c: recordings of music ---------------------------------
void dw_form_draw_held(const DwFormDrawing *view);
void dw_form_draw_twin(const DwFormDrawing *view);

// --- form_sides.c: sides of a test record, and the curve -----------------
void dw_form_draw_side(const DwFormDrawing *view);
void dw_form_draw_pressing(const DwFormDrawing *view);
void dw_form_draw_riaa(const DwFormDrawing *view);

#endif
