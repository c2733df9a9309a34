// SPDX-License-Identifier: MIT
// Two strips to cut out: one with a hole for the stylus and a cross for the
// pivot, and the bar that reads the mounting distance.
#include "base/text.h"
#include "base/tongue.h"
#include "chart/template/template_plan.h"

#include <math.h>
#include <stdlib.h>

static const double strip_mm = 30, gap_mm = 6, above_mm = 15, below_mm = 9, reading_mm = 10;

static const char *const pivoted[] = {
    N_("Cut both strips out along their edges, and the small circles just inside their lines: they must sit on the "
       "spindle without play."),
    N_("First the mounting: the bar on the spindle, its scale under the arm's bearing. Read the scale at the centre of "
       "the bearing: that is how far the pivot stands from its right place, + is too far."),
    N_("If it is more than 0.5 mm off, move the arm's base, or measure the distance and draw the templates for it."),
    N_("Then the stylus: the strip on the spindle, its pivot cross under the bearing. Prick the open cross with a pin; "
       "swing the arm over it and slide the cartridge until the stylus stands over the hole."),
    N_("Then set the angle on the two-point grid and set the tracking force again."),
    NULL,
};

static const char *const *steps(const DwTemplate *template)
{
    (void)template;
    return pivoted;
}

static void plan(const DwTemplate *template, DwTemplatePlan *plan)
{
    double distance = template->pivot_to_spindle_mm, length = template->effective_length_mm;
    double first = 1 + strip_mm / 2, second = first + strip_mm + gap_mm;
    plan->points[DW_TEMPLATE_PIVOT] = (DwTemplatePoint){first, above_mm};
    plan->points[DW_TEMPLATE_SPINDLE] = (DwTemplatePoint){first, above_mm + distance};
    plan->points[DW_TEMPLATE_STYLUS] = (DwTemplatePoint){first, above_mm + length};
    plan->points[DW_TEMPLATE_BAR_PIVOT] = (DwTemplatePoint){second, above_mm};
    plan->points[DW_TEMPLATE_BAR_SPINDLE] = (DwTemplatePoint){second, above_mm + distance};
    plan->width = 174;
    plan->height = above_mm + fmax(distance, length) + below_mm;
    plan->marks = (DwBox){1, 1, strip_mm, plan->height - 2}; // the strip itself
    double words = second + strip_mm / 2 + 8;
    plan->words = (DwBox){words, 0, plan->width - words, plan->height};
}

static void draw_edge(DwTemplatePoint middle, double height, const DwCanvas *canvas)
{
    dw_canvas_use(canvas, DW_INK_QUIET);
    cairo_set_line_width(canvas->cairo, 0.2);
    cairo_set_dash(canvas->cairo, (double[]){2, 1.5}, 2, 0);
    cairo_rectangle(canvas->cairo, middle.x - strip_mm / 2, 1, strip_mm, height);
    cairo_stroke(canvas->cairo);
    cairo_set_dash(canvas->cairo, NULL, 0, 0);
}

static void draw_strip(const DwTemplate *template, const DwTemplatePlan *plan, const DwCanvas *canvas)
{
    DwTemplatePoint pivot = plan->points[DW_TEMPLATE_PIVOT], spindle = plan->points[DW_TEMPLATE_SPINDLE];
    DwTemplatePoint stylus = plan->points[DW_TEMPLATE_STYLUS];
    draw_edge(pivot, plan->height - 2, canvas);
    dw_template_cross(canvas, pivot, 8);
    double upper = fmin(spindle.y - 8, stylus.y - 6);
    dw_template_line(canvas, (DwTemplatePoint){pivot.x, pivot.y + 10}, (DwTemplatePoint){pivot.x, upper}, 0.15,
                     DW_INK_QUIET);
    dw_template_spindle(canvas, spindle);
    dw_template_stylus_point(canvas, stylus, 0);
    dw_template_label(canvas, (DwTemplatePoint){pivot.x + 2, pivot.y - 3}, 0, 0, dw_said("pivot"));
    dw_template_label(canvas, (DwTemplatePoint){stylus.x + 4.5, stylus.y + 1}, 0, 0, dw_said("stylus"));
    dw_template_label(canvas, (DwTemplatePoint){spindle.x + 3.2, spindle.y - 5}, 0, 0, dw_said("spindle"));
    char *text = dw_say("stylus-hole strip · effective length %.2f mm", template->effective_length_mm);
    dw_template_label(canvas, (DwTemplatePoint){pivot.x - 2, (pivot.y + spindle.y) / 2}, -M_PI / 2, 0.5, text);
    free(text);
}

static void draw_bar(const DwTemplate *template, const DwTemplatePlan *plan, const DwCanvas *canvas)
{
    DwTemplatePoint pivot = plan->points[DW_TEMPLATE_BAR_PIVOT], spindle = plan->points[DW_TEMPLATE_BAR_SPINDLE];
    draw_edge(pivot, plan->height - 2, canvas);
    dw_template_line(canvas, (DwTemplatePoint){pivot.x - 9, pivot.y}, (DwTemplatePoint){pivot.x + 2, pivot.y}, 0.1,
                     DW_INK_TEXT);
    // Upwards is farther from the spindle.
    dw_template_scale(canvas, pivot, -M_PI / 2, -reading_mm, reading_mm, 1);
    dw_template_line(canvas, (DwTemplatePoint){pivot.x, pivot.y + reading_mm + 4},
                     (DwTemplatePoint){pivot.x, spindle.y - 8}, 0.15, DW_INK_QUIET);
    dw_template_spindle(canvas, spindle);
    dw_template_label(canvas, (DwTemplatePoint){spindle.x + 3.2, spindle.y - 5}, 0, 0, dw_said("spindle"));
    char *text = dw_say("mounting-distance bar · pivot to spindle %.2f mm", template->pivot_to_spindle_mm);
    dw_template_label(canvas, (DwTemplatePoint){pivot.x - 2, (pivot.y + spindle.y) / 2}, -M_PI / 2, 0.5, text);
    free(text);
}

static void draw(const DwTemplate *template, const DwTemplatePlan *plan, const DwCanvas *canvas)
{
    draw_strip(template, plan, canvas);
    draw_bar(template, plan, canvas);
}

const DwTemplateDrawing dw_template_strip = {N_("Strip and mounting bar"), steps, plan, draw};
