// SPDX-License-Identifier: MIT
// Inside the templates: one drawing a kind, planned on a sheet of any size and
// then cut into pages by template.c. Lengths are millimetres, y runs down.
#ifndef DW_CHART_TEMPLATE_PLAN_H
#define DW_CHART_TEMPLATE_PLAN_H

#include "chart/draw/canvas.h"
#include "chart/template/template.h"

typedef struct {
    double x, y;
} DwTemplatePoint;

// The size of the drawing, where its points lie (NAN where it has them not),
// and the box that is left for words. A drawing higher than the room on one
// page is cut from its lower end: the last page is full.
typedef struct {
    double room_width, room_height; // on one page, given
    double overlap;                 // of two pages, given
    double width, height;
    DwTemplatePoint points[DW_TEMPLATE_MARK_COUNT];
    DwBox words;
    DwBox marks; // where a camera's marks may stand if the rest leaves room; nought wide for none
} DwTemplatePlan;

// One kind of template. A page is a window on what `draw` draws.
typedef struct {
    const char *title;
    // What to set first and what then, NULL last.
    const char *const *(*steps)(const DwTemplate *template);
    // Sets the size, the points and the box for words of an emptied PLAN.
    void (*plan)(const DwTemplate *template, DwTemplatePlan *plan);
    void (*draw)(const DwTemplate *template, const DwTemplatePlan *plan, const DwCanvas *canvas);
} DwTemplateDrawing;

extern const DwTemplateDrawing dw_template_arc;
extern const DwTemplateDrawing dw_template_grid;
extern const DwTemplateDrawing dw_template_overhang;
extern const DwTemplateDrawing dw_template_strip;

// The title, the arm's figures, the steps, the cautions and the accuracy, in
// the plan's box for words. Returned: where they end.
double dw_template_words(const DwTemplate *template, const DwTemplateDrawing *drawing, const DwTemplatePlan *plan,
                         const DwCanvas *canvas);

// How the angle is seen from in front or in a mirror, where the arm's tube is in the way; the last sentence of a step.
#define DW_TEMPLATE_MIRROR                                                                                             \
    "Seen from the front the spindle is on your left, and a nose that points left is turned inwards; in a mirror "     \
    "stood before the nose, looked into from behind, that is to the right."

// Marks that the drawings share. Lines are hair-thin so that a stylus can be
// judged against them.
void dw_template_line(const DwCanvas *canvas, DwTemplatePoint from, DwTemplatePoint to, double width, DwInk ink);
// The circle of a spindle (7.24 mm, IEC 60098) to cut out, with its centre lines.
void dw_template_spindle(const DwCanvas *canvas, DwTemplatePoint centre);
// A cross on which something solid is centred, such as a pivot.
void dw_template_cross(const DwCanvas *canvas, DwTemplatePoint centre, double reach);
// A cross whose middle is left free of ink for the stylus.
void dw_template_stylus_point(const DwCanvas *canvas, DwTemplatePoint centre, double angle);
// The line to lay a cantilever along, at ANGLE (radians from straight down,
// clockwise), and those to hold the cartridge's sides against, turned back by
// SKEW (radians), HALF_WIDTH to both sides, HALF_LENGTH long.
void dw_template_cartridge_grid(const DwCanvas *canvas, DwTemplatePoint centre, double angle, double skew,
                                double half_width, double half_length);
// Ticks of 1 and 5 mm from LOW to HIGH along a straight line from ORIGIN in the
// direction ANGLE, numbered each 10 mm; the line's right side when SIDE is 1.
void dw_template_scale(const DwCanvas *canvas, DwTemplatePoint origin, double angle, double low, double high,
                       double side);
// A small arrow's head at TIP pointing along ANGLE (radians, 0 to the right, clockwise).
void dw_template_arrow_head(const DwCanvas *canvas, DwTemplatePoint tip, double angle);
// The part of a circle about the spindle that says which way the record turns.
void dw_template_turning(const DwCanvas *canvas, DwTemplatePoint spindle, double radius, double from, double to);
// A short label turned by ANGLE, its middle at POINT.
void dw_template_label(const DwCanvas *canvas, DwTemplatePoint point, double angle, double align, const char *text);

#endif
