// SPDX-License-Identifier: MIT
// The two-point grid: spindle to the left, the points of tangency on one
// radius to the right, words above. It fits any pivoted arm.
#include "base/text.h"
#include "base/tongue.h"
#include "chart/template/marks_paper.h"
#include "chart/template/template_plan.h"

#include <math.h>
#include <stdlib.h>

static const double words_mm = 138, drawing_mm = 94, left_mm = 12, beyond_mm = 12;

static const char *const pivoted[] = {
    N_("Lay an old record on the platter and the sheet on it, so that the stylus stands at playing height. Cut the "
       "small "
       "circle just inside its line: it must sit on the spindle without play."),
    "First the inner point: turn the platter until the stylus stands over it, lower it into the open cross and turn "
    "the cartridge until its cantilever runs along the middle line; the others are for the body's "
    "sides. " DW_TEMPLATE_MIRROR,
    N_("Then the outer point, without touching the screws. If the nose points away from the spindle there, the stylus "
       "is too far back: slide it a little forward. If it points towards the spindle, slide it back. Then the inner "
       "point "
       "again."),
    N_("When it is tangent at both, overhang and offset are right, whatever the arm's length. Do not follow one point "
       "alone."),
    N_("Tighten both screws a little at a time, look at both points again, then set the tracking force again."),
    NULL,
};

// A straight arm is tangent at one radius: its overhang alone is to be set.
static const char *const underhung[] = {
    N_("Lay an old record on the platter and the sheet on it, so that the stylus stands at playing height. Cut the "
       "small "
       "circle just inside its line: it must sit on the spindle without play."),
    N_("The cartridge stands straight in the headshell: its sides run along the arm."),
    N_("Turn the platter until the stylus stands over the point, lower it into the open cross. If the nose points away "
       "from the spindle there, the stylus stands too far out: slide it back. If it points towards the spindle, slide "
       "it "
       "forward."),
    N_("Tighten both screws a little at a time, look again, then set the tracking force again."),
    NULL,
};

static const char *const linear[] = {
    N_("Lay an old record on the platter and the sheet on it, so that the stylus stands at playing height. Cut the "
       "small "
       "circle just inside its line: it must sit on the spindle without play."),
    N_("Turn the sheet until the stylus, carried along, stays on the long line from the first groove to the last; tape "
       "it "
       "down. If it cannot, the arm's travel does not go through the spindle: mend that first."),
    N_("At both points turn the cartridge until its cantilever runs along the middle line. If it does at one and not "
       "at "
       "the other, "
       "the carriage is skewed or has play."),
    N_("Tighten both screws a little at a time, look again, then set the tracking force again."),
    NULL,
};

static const char *const *steps(const DwTemplate *template)
{
    return template->is_linear ? linear : isnan(template->null_outer_mm) ? underhung : pivoted;
}

static void plan(const DwTemplate *template, DwTemplatePlan *plan)
{
    DwTemplatePoint spindle = {left_mm, words_mm + drawing_mm / 2};
    plan->width = fmax(left_mm + template->groove_outer_mm + beyond_mm, 168);
    plan->height = words_mm + drawing_mm;
    plan->points[DW_TEMPLATE_SPINDLE] = spindle;
    plan->points[DW_TEMPLATE_NULL_INNER] = (DwTemplatePoint){spindle.x + template->null_inner_mm, spindle.y};
    if (!isnan(template->null_outer_mm))
        plan->points[DW_TEMPLATE_NULL_OUTER] = (DwTemplatePoint){spindle.x + template->null_outer_mm, spindle.y};
    plan->words = (DwBox){2, 0, plan->width - 4, words_mm};
}

// Where the record's grooves end: a piece of the groove above the grid.
static void draw_groove(DwTemplatePoint spindle, const DwCanvas *canvas, double radius, const char *name)
{
    double near = 19.5 / radius, far = 25 / radius;
    dw_canvas_use(canvas, DW_INK_QUIET);
    cairo_set_line_width(canvas->cairo, 0.2);
    cairo_set_dash(canvas->cairo, (double[]){1.5, 1.2}, 2, 0);
    cairo_arc(canvas->cairo, spindle.x, spindle.y, radius, -far, -near);
    cairo_stroke(canvas->cairo);
    cairo_set_dash(canvas->cairo, NULL, 0, 0);
    char *text = dw_say("%s %.1f", dw_said(name), radius);
    dw_template_label(canvas, (DwTemplatePoint){spindle.x + radius * cos(far), spindle.y - radius * sin(far) - 1.2}, 0,
                      0.5, text);
    free(text);
}

static void draw_null(const DwTemplate *template, const DwTemplatePlan *plan, const DwCanvas *canvas,
                      DwTemplateMark mark, double half_width)
{
    DwTemplatePoint point = plan->points[mark];
    double radius = mark == DW_TEMPLATE_NULL_INNER ? template->null_inner_mm : template->null_outer_mm;
    dw_template_cartridge_grid(canvas, point, 0, template->skew_deg * M_PI / 180, half_width, 17);
    char *text = dw_say("%.2f", radius);
    dw_template_label(canvas, (DwTemplatePoint){point.x, point.y + 23}, 0, 0.5, text);
    free(text);
}

static void draw_pivot_arrow(DwTemplatePoint spindle, const DwCanvas *canvas)
{
    DwTemplatePoint tip = {spindle.x, spindle.y - 29}, foot = {spindle.x, spindle.y - 12};
    dw_template_line(canvas, foot, (DwTemplatePoint){tip.x, tip.y + 2}, 0.4, DW_INK_ACCENT);
    dw_template_arrow_head(canvas, tip, -M_PI / 2);
    dw_template_label(canvas, (DwTemplatePoint){tip.x + 3, tip.y + 2}, 0, 0, dw_said("the arm's pivot"));
    dw_template_label(canvas, (DwTemplatePoint){tip.x + 3, tip.y + 6}, 0, 0, dw_said("lies this way"));
}

static void draw(const DwTemplate *template, const DwTemplatePlan *plan, const DwCanvas *canvas)
{
    DwTemplatePoint spindle = plan->points[DW_TEMPLATE_SPINDLE];
    // Grids of points that stand close (7-inch records) must not run into each other.
    double room = isnan(template->null_outer_mm) ? 24 : template->null_outer_mm - template->null_inner_mm;
    double half_width = fmin(10, floor(room / 2) - 1);
    cairo_save(canvas->cairo);
    cairo_translate(canvas->cairo, spindle.x, spindle.y);
    dw_marks_draw(canvas, DW_MARKED_GRID, NULL);
    cairo_restore(canvas->cairo);
    draw_groove(spindle, canvas, template->groove_inner_mm, N_("last groove"));
    draw_groove(spindle, canvas, template->groove_outer_mm, N_("first groove"));
    draw_null(template, plan, canvas, DW_TEMPLATE_NULL_INNER, half_width);
    if (!isnan(template->null_outer_mm))
        draw_null(template, plan, canvas, DW_TEMPLATE_NULL_OUTER, half_width);
    double clear = half_width + 1;
    DwTemplatePoint from = {spindle.x + 8, spindle.y}, to = {spindle.x + template->null_inner_mm - clear, spindle.y};
    dw_template_line(canvas, from, to, 0.1, DW_INK_TEXT);
    if (!isnan(template->null_outer_mm) && room > 2 * clear)
        dw_template_line(canvas, (DwTemplatePoint){spindle.x + template->null_inner_mm + clear, spindle.y},
                         (DwTemplatePoint){spindle.x + template->null_outer_mm - clear, spindle.y}, 0.1, DW_INK_TEXT);
    dw_template_spindle(canvas, spindle);
    dw_template_label(canvas, (DwTemplatePoint){spindle.x, spindle.y + 11}, 0, 0.5, dw_said("spindle"));
    dw_template_turning(canvas, spindle, 30, -0.75, 0.75);
    dw_template_label(canvas, (DwTemplatePoint){spindle.x + 9, spindle.y + 24}, 0, 0,
                      dw_said("the record turns this way"));
    double between = (template->null_inner_mm + template->null_outer_mm) / 2;
    if (template->is_linear)
        dw_template_label(canvas, (DwTemplatePoint){spindle.x + between, spindle.y - 1.5}, 0, 0.5,
                          dw_said("the stylus travels on this line"));
    else
        draw_pivot_arrow(spindle, canvas);
}

const DwTemplateDrawing dw_template_grid = {N_("Two-point grid"), steps, plan, draw};
