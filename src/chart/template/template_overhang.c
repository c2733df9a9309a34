// SPDX-License-Identifier: MIT
// The overhang gauge: a card on the spindle, one end aimed at the pivot, a
// scale where the stylus swings past.
#include "base/text.h"
#include "base/tongue.h"
#include "chart/template/template_plan.h"

#include <math.h>
#include <stdlib.h>

static const double card_mm = 64, above_mm = 52, margin_mm = 14;

static const char *const pivoted[] = {
    N_("Cut the card out along its edge and the small circle just inside its line: it must sit on the spindle without "
       "play. Lay it on an old record so that the stylus stands at playing height."),
    N_("Aim the long line at the centre of the arm's pivot and tape the card down."),
    N_("Swing the arm over the spindle, lower the stylus onto the scale and read it: that is the overhang as it is."),
    N_("Slide the cartridge until the stylus stands in the open cross. Then set the angle on the two-point grid."),
    N_("An arm that cannot swing over the spindle is set with the arc or the grid instead. Never bend it over."),
    NULL,
};

static const char *const *steps(const DwTemplate *template)
{
    (void)template;
    return pivoted;
}

static double overhang_of(const DwTemplate *template)
{
    return template->effective_length_mm - template->pivot_to_spindle_mm;
}

// The scale's ends: from the spindle hole's edge to well past the target.
static double lowest(const DwTemplate *template)
{
    double overhang = overhang_of(template);
    return overhang < 0 ? fmin(-20, floor(overhang / 5) * 5 - 5) : 5;
}

static double highest(const DwTemplate *template)
{
    double overhang = overhang_of(template);
    return overhang < 0 ? -5 : fmax(30, ceil(overhang / 5) * 5 + 5);
}

static void plan(const DwTemplate *template, DwTemplatePlan *plan)
{
    double below = fmax(highest(template), 10) + margin_mm, above = fmax(above_mm, -lowest(template) + 30);
    plan->points[DW_TEMPLATE_SPINDLE] = (DwTemplatePoint){card_mm / 2 + 2, above};
    plan->points[DW_TEMPLATE_STYLUS] = (DwTemplatePoint){card_mm / 2 + 2, above + overhang_of(template)};
    plan->width = 172;
    plan->height = fmax(above + below, 165);
    plan->marks = (DwBox){2, 2, card_mm, above + below - 4}; // the card
    plan->words = (DwBox){card_mm + 12, 0, plan->width - card_mm - 12, plan->height};
}

static void draw_edge(const DwTemplate *template, DwTemplatePoint spindle, const DwCanvas *canvas)
{
    double top = 2, bottom = spindle.y + fmax(highest(template), 10) + margin_mm - 2;
    dw_canvas_use(canvas, DW_INK_QUIET);
    cairo_set_line_width(canvas->cairo, 0.2);
    cairo_set_dash(canvas->cairo, (double[]){2, 1.5}, 2, 0);
    cairo_rectangle(canvas->cairo, 2, top, card_mm, bottom - top);
    cairo_stroke(canvas->cairo);
    cairo_set_dash(canvas->cairo, NULL, 0, 0);
}

static void draw(const DwTemplate *template, const DwTemplatePlan *plan, const DwCanvas *canvas)
{
    DwTemplatePoint spindle = plan->points[DW_TEMPLATE_SPINDLE], stylus = plan->points[DW_TEMPLATE_STYLUS];
    double overhang = overhang_of(template);
    draw_edge(template, spindle, canvas);
    DwTemplatePoint top = {spindle.x, 8};
    double line_to = overhang < 0 ? spindle.y + lowest(template) - 2 : spindle.y - 8;
    dw_template_line(canvas, top, (DwTemplatePoint){spindle.x, line_to}, 0.15, DW_INK_TEXT);
    dw_template_arrow_head(canvas, (DwTemplatePoint){top.x, top.y - 2}, -M_PI / 2);
    dw_template_label(canvas, (DwTemplatePoint){spindle.x + 2, 13}, 0, 0, dw_said("aim at"));
    dw_template_label(canvas, (DwTemplatePoint){spindle.x + 2, 16.5}, 0, 0, dw_said("the pivot"));
    // Two scales with the stylus's way free between them.
    for (int side = -1; side <= 1; side += 2)
        dw_template_scale(canvas, (DwTemplatePoint){spindle.x + side * 5, spindle.y}, M_PI / 2, lowest(template),
                          highest(template), -side);
    dw_template_stylus_point(canvas, stylus, 0);
    dw_template_spindle(canvas, spindle);
    char *text = overhang < 0 ? dw_say("%.2f short", fabs(overhang)) : dw_say("%.2f", fabs(overhang));
    dw_template_arrow_head(canvas, (DwTemplatePoint){spindle.x + 13.6, stylus.y}, M_PI);
    dw_canvas_write(canvas, (DwLetters){1, true, DW_INK_ACCENT}, spindle.x + 17.2, stylus.y + 1.2, 0, text);
    free(text);
    dw_template_label(
        canvas, (DwTemplatePoint){spindle.x, plan->points[DW_TEMPLATE_SPINDLE].y + fmax(highest(template), 10) + 7}, 0,
        0.5, dw_said("front of the deck"));
}

const DwTemplateDrawing dw_template_overhang = {N_("Overhang gauge"), steps, plan, draw};
