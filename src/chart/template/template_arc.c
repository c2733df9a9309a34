// SPDX-License-Identifier: MIT
// The arc protractor: spindle at the lower left, pivot straight above it, the
// stylus's path to the right. The paper lies as the deck is seen from above
// with the arm's pivot at the back.
#include "base/text.h"
#include "chart/template/template_plan.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static const double left_mm = 12, above_mm = 7, below_mm = 14, beyond_mm = 9;
// What the words take at least, and how far they must stay from the arc.
static const double words_width_mm = 142, words_height_mm = 156, clear_mm = 30;

static const char *const pivoted[] = {
    "Lay an old record on the platter and the sheet on it, so that the stylus stands at playing height. Cut the small "
    "circle just inside its line: it must sit on the spindle without play.",
    "Swing the pivot cross exactly under the centre of the arm's bearing; tape the sheet down. If the cross cannot be "
    "brought there, the arm is not mounted at this distance: measure it and draw the sheet for that.",
    "First the overhang: slide the cartridge until the stylus meets the arc at its inner end and at its outer end.",
    "Then the angle: stylus on each open point, turn the cartridge until its sides run along the lines. Look with one "
    "eye, from straight ahead.",
    "Tighten both screws a little at a time, look at arc and points again, then set the tracking force again.",
    NULL,
};

static const char *const *steps(const DwTemplate *template)
{
    (void)template;
    return pivoted;
}

// Where the stylus stands at RADIUS. The angle at the spindle, from the pivot
// clockwise, is that of the triangle pivot, spindle, stylus.
static DwTemplatePoint stylus_at(const DwTemplate *template, DwTemplatePoint spindle, double radius)
{
    double distance = template->pivot_to_spindle_mm, length = template->effective_length_mm;
    double cosine = (radius * radius + (distance - length) * (distance + length)) / (2 * radius * distance);
    double sine = sqrt(fmax(0, 1 - cosine * cosine));
    return (DwTemplatePoint){spindle.x + radius * sine, spindle.y - radius * cosine};
}

// The angle of the groove's tangent at POINT, from straight down, as a
// cartridge stands there: nose away from the pivot.
static double tangent_at(DwTemplatePoint spindle, DwTemplatePoint point)
{
    return atan2(point.y - spindle.y, point.x - spindle.x);
}

static void plan(const DwTemplate *template, DwTemplatePlan *plan)
{
    double width = fmax(left_mm + template->groove_outer_mm + beyond_mm, left_mm + 14 + words_width_mm);
    // On a short arm the words need more room above the arc than there is.
    DwTemplatePoint there =
        stylus_at(template, (DwTemplatePoint){0, template->pivot_to_spindle_mm}, template->groove_outer_mm);
    double above = fmax(above_mm, words_height_mm + clear_mm - there.y);
    DwTemplatePoint spindle = {left_mm, above + template->pivot_to_spindle_mm};
    DwTemplatePoint inner = stylus_at(template, spindle, template->groove_inner_mm);
    DwTemplatePoint outer = stylus_at(template, spindle, template->groove_outer_mm);
    double lowest = fmax(spindle.y, fmax(inner.y, outer.y)), highest = fmin(inner.y, outer.y);
    plan->width = width;
    plan->height = lowest + below_mm;
    plan->points[DW_TEMPLATE_SPINDLE] = spindle;
    plan->points[DW_TEMPLATE_PIVOT] = (DwTemplatePoint){left_mm, above};
    plan->points[DW_TEMPLATE_NULL_INNER] = stylus_at(template, spindle, template->null_inner_mm);
    if (!isnan(template->null_outer_mm))
        plan->points[DW_TEMPLATE_NULL_OUTER] = stylus_at(template, spindle, template->null_outer_mm);
    plan->words = (DwBox){left_mm + 14, 0, plan->width - left_mm - 14, highest - clear_mm};
}

// Where the record's grooves end: a piece of the groove above the grid.
static void draw_groove(const DwTemplate *template, const DwTemplatePlan *plan, const DwCanvas *canvas, double radius,
                        const char *name)
{
    DwTemplatePoint spindle = plan->points[DW_TEMPLATE_SPINDLE];
    DwTemplatePoint at = stylus_at(template, spindle, radius);
    double angle = atan2(at.y - spindle.y, at.x - spindle.x), near = 16 / radius, far = 23 / radius;
    dw_canvas_use(canvas, DW_INK_QUIET);
    cairo_set_line_width(canvas->cairo, 0.2);
    cairo_set_dash(canvas->cairo, (double[]){1.5, 1.2}, 2, 0);
    cairo_arc(canvas->cairo, spindle.x, spindle.y, radius, angle - far, angle - near);
    cairo_stroke(canvas->cairo);
    cairo_set_dash(canvas->cairo, NULL, 0, 0);
    char *text = dw_text_format("%s %.1f", name, radius);
    DwTemplatePoint end = {spindle.x + radius * cos(angle - far), spindle.y + radius * sin(angle - far) - 1.2};
    dw_template_label(canvas, end, 0, 0.5, text);
    free(text);
}

static bool near_null(const DwTemplate *template, double radius)
{
    const double clear = 0.7;
    return fabs(radius - template->null_inner_mm) < clear || fabs(radius - template->null_outer_mm) < clear;
}

// The stylus's path from 5 mm within the last groove to 2 mm outside the first,
// left open at the points of tangency.
static void draw_arc(const DwTemplate *template, const DwTemplatePlan *plan, const DwCanvas *canvas)
{
    DwTemplatePoint spindle = plan->points[DW_TEMPLATE_SPINDLE];
    dw_canvas_use(canvas, DW_INK_TEXT);
    cairo_set_line_width(canvas->cairo, 0.1);
    bool drawing = false;
    double from = template->groove_inner_mm - 5, to = template->groove_outer_mm + 2;
    for (double radius = from; radius <= to; radius += 0.1) {
        DwTemplatePoint point = stylus_at(template, spindle, radius);
        if (near_null(template, radius))
            drawing = false;
        else if (drawing)
            cairo_line_to(canvas->cairo, point.x, point.y);
        else {
            cairo_move_to(canvas->cairo, point.x, point.y);
            drawing = true;
        }
    }
    cairo_stroke(canvas->cairo);
}

static void draw_null(const DwTemplatePlan *plan, const DwCanvas *canvas, DwTemplateMark mark, double radius)
{
    DwTemplatePoint point = plan->points[mark], spindle = plan->points[DW_TEMPLATE_SPINDLE];
    double angle = tangent_at(spindle, point);
    dw_template_cartridge_grid(canvas, point, angle, 9, 13);
    char *text = dw_text_format("%.2f", radius);
    DwTemplatePoint below = {point.x - 17.5 * sin(angle), point.y + 17.5 * cos(angle)};
    dw_template_label(canvas, below, angle, 0.5, text);
    free(text);
}

static void draw_pivot(const DwTemplate *template, const DwTemplatePlan *plan, const DwCanvas *canvas)
{
    DwTemplatePoint pivot = plan->points[DW_TEMPLATE_PIVOT], spindle = plan->points[DW_TEMPLATE_SPINDLE];
    dw_template_cross(canvas, pivot, 6);
    cairo_arc(canvas->cairo, pivot.x, pivot.y, 3, 0, 2 * M_PI);
    dw_canvas_use(canvas, DW_INK_TEXT);
    cairo_set_line_width(canvas->cairo, 0.1);
    cairo_stroke(canvas->cairo);
    cairo_set_dash(canvas->cairo, (double[]){4, 2}, 2, 0);
    dw_template_line(canvas, (DwTemplatePoint){pivot.x, pivot.y + 8}, (DwTemplatePoint){spindle.x, spindle.y - 9}, 0.15,
                     DW_INK_QUIET);
    cairo_set_dash(canvas->cairo, NULL, 0, 0);
    char *text = dw_text_format("pivot to spindle %.2f mm", template->pivot_to_spindle_mm);
    dw_template_label(canvas, (DwTemplatePoint){pivot.x - 1.5, (pivot.y + spindle.y) / 2}, -M_PI / 2, 0.5, text);
    free(text);
    dw_template_label(canvas, (DwTemplatePoint){pivot.x + 2, pivot.y + 11}, 0, 0, "pivot");
    dw_template_label(canvas, (DwTemplatePoint){spindle.x + 3, spindle.y - 8.5}, 0, 0, "spindle");
}

static void draw(const DwTemplate *template, const DwTemplatePlan *plan, const DwCanvas *canvas)
{
    DwTemplatePoint spindle = plan->points[DW_TEMPLATE_SPINDLE];
    draw_groove(template, plan, canvas, template->groove_inner_mm, "last groove");
    draw_groove(template, plan, canvas, template->groove_outer_mm, "first groove");
    draw_arc(template, plan, canvas);
    draw_null(plan, canvas, DW_TEMPLATE_NULL_INNER, template->null_inner_mm);
    if (!isnan(template->null_outer_mm))
        draw_null(plan, canvas, DW_TEMPLATE_NULL_OUTER, template->null_outer_mm);
    draw_pivot(template, plan, canvas);
    dw_template_spindle(canvas, spindle);
    dw_template_turning(canvas, spindle, 28, -1.05, 0.25);
    dw_template_label(canvas, (DwTemplatePoint){spindle.x + 9, spindle.y - 28.5}, 0, 0, "the record is on this side");
    dw_template_label(canvas, (DwTemplatePoint){spindle.x + 9, spindle.y - 25}, 0, 0, "and turns this way");
}

const DwTemplateDrawing dw_template_arc = {"Arc protractor", steps, plan, draw};
