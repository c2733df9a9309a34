// SPDX-License-Identifier: MIT
// The arc protractor: spindle at the lower left, pivot straight above it, the
// stylus's path to the right. The paper lies as the deck is seen from above
// with the arm's pivot at the back.
#include "base/text.h"
#include "base/tongue.h"
#include "chart/template/template_plan.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static const double left_mm = 12, above_mm = 5.5, below_mm = 14, beyond_mm = 9;
static const double cross_mm = 5.4;
static const double widest_mm = 195; // of the drawing with its words: longer lines read badly
// What the words take at least, and how far they must stay from the arc.
static const double words_height_mm = 156, clear_mm = 30;
static const double pillar_play_mm = 0.5; // of its notch to each side

static const char on_spindle[] = N_(
    "Lay an old record on the platter and the sheet on it, so that the stylus stands at playing height. Cut the small "
    "circle just inside its line: it must sit on the spindle without play.");
static const char under_bearing[] = N_(
    "Swing the pivot cross exactly under the centre of the arm's bearing; tape the sheet down. If the cross cannot be "
    "brought there, the arm is not mounted at this distance: measure it and draw the sheet for that.");
static const char about_pillar[] =
    N_("Cut the notch out along its dashes and swing it round the arm's pillar, until the marks beside it point at the "
       "middle of the bearing; tape the sheet down. If they cannot be brought to, the arm is not mounted at this "
       "distance: measure it and draw the sheet for that.");
static const char sliding[] =
    N_("First the overhang: slide the cartridge until the stylus meets the arc at its inner end and at its outer end.");
static const char turning[] =
    "Then the angle: stylus on each open point, turn the cartridge until its cantilever runs along the middle line; "
    "the others are for the body's sides. Look with one eye. " DW_TEMPLATE_MIRROR;
static const char tighten[] =
    N_("Tighten both screws a little at a time, look at arc and points again, then set the tracking force again.");

static const char *const *steps(const DwTemplate *template)
{
    static const char *const with_cross[] = {on_spindle, under_bearing, sliding, turning, tighten, NULL};
    static const char *const with_notch[] = {on_spindle, about_pillar, sliding, turning, tighten, NULL};
    return template->pillar_mm > 0 ? with_notch : with_cross;
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

// The pivot's place above the spindle leaves room for the notch about a pillar.
static double notch_radius(const DwTemplate *template)
{
    return template->pillar_mm > 0 ? template->pillar_mm / 2 + pillar_play_mm : 0;
}

static double left_of(const DwTemplate *template)
{
    return fmax(left_mm, notch_radius(template) > 0 ? notch_radius(template) + 4 : 0);
}

static void plan(const DwTemplate *template, DwTemplatePlan *plan)
{
    double left = left_of(template);
    double width = fmax(left + template->groove_outer_mm + beyond_mm, fmin(plan->room_width, widest_mm));
    // On a short arm the words need more room above the arc than there is.
    DwTemplatePoint there =
        stylus_at(template, (DwTemplatePoint){0, template->pivot_to_spindle_mm}, template->groove_outer_mm);
    double above = fmax(above_mm + notch_radius(template), words_height_mm + clear_mm - there.y);
    DwTemplatePoint spindle = {left, above + template->pivot_to_spindle_mm};
    DwTemplatePoint inner = stylus_at(template, spindle, template->groove_inner_mm);
    DwTemplatePoint outer = stylus_at(template, spindle, template->groove_outer_mm);
    double lowest = fmax(spindle.y, fmax(inner.y, outer.y)), highest = fmin(inner.y, outer.y);
    plan->width = width;
    plan->height = lowest + below_mm;
    plan->points[DW_TEMPLATE_SPINDLE] = spindle;
    plan->points[DW_TEMPLATE_PIVOT] = (DwTemplatePoint){left, above};
    plan->points[DW_TEMPLATE_NULL_INNER] = stylus_at(template, spindle, template->null_inner_mm);
    if (!isnan(template->null_outer_mm))
        plan->points[DW_TEMPLATE_NULL_OUTER] = stylus_at(template, spindle, template->null_outer_mm);
    // Of two sheets the words stand on the arc's, below the crosses of the seam.
    double top = plan->height > plan->room_height ? plan->height - plan->room_height + plan->overlap : 0;
    plan->words = (DwBox){left + 14 + notch_radius(template), top, width - left - 14 - notch_radius(template),
                          highest - clear_mm - top};
    plan->marks = (DwBox){0, 0, plan->width, plan->height};
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
    char *text = dw_say("%s %.1f", dw_said(name), radius);
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

static void draw_null(const DwTemplate *template, const DwTemplatePlan *plan, const DwCanvas *canvas,
                      DwTemplateMark mark)
{
    double radius = mark == DW_TEMPLATE_NULL_INNER ? template->null_inner_mm : template->null_outer_mm;
    DwTemplatePoint point = plan->points[mark], spindle = plan->points[DW_TEMPLATE_SPINDLE];
    double angle = tangent_at(spindle, point);
    dw_template_cartridge_grid(canvas, point, angle, template->skew_deg * M_PI / 180, 9, 13);
    char *text = dw_say("%.2f", radius);
    // Beside the grid: below it would cost the sheet that a 9-inch arm just fits.
    DwTemplatePoint beside = {point.x + 10 * cos(angle) - 8 * sin(angle), point.y + 10 * sin(angle) + 8 * cos(angle)};
    dw_template_label(canvas, beside, angle, 0, text);
    free(text);
}

// The cross where the pivot's centre comes to lie: under a bearing, or about a
// pillar, for which a notch is cut in from the sheet's edge.
static void draw_pivot_cross(const DwTemplate *template, DwTemplatePoint pivot, const DwCanvas *canvas)
{
    double notch = notch_radius(template);
    if (notch <= 0) {
        dw_template_cross(canvas, pivot, cross_mm);
        cairo_arc(canvas->cairo, pivot.x, pivot.y, 3, 0, 2 * M_PI);
        dw_canvas_use(canvas, DW_INK_TEXT);
        cairo_set_line_width(canvas->cairo, 0.1);
        cairo_stroke(canvas->cairo);
        return;
    }
    double reach = notch + 7;
    for (int side = -1; side <= 1; side += 2)
        dw_template_line(canvas, (DwTemplatePoint){pivot.x + side * (notch + 0.6), pivot.y},
                         (DwTemplatePoint){pivot.x + side * reach, pivot.y}, 0.1, DW_INK_TEXT);
    dw_template_line(canvas, (DwTemplatePoint){pivot.x, pivot.y + notch + 0.6},
                     (DwTemplatePoint){pivot.x, pivot.y + reach}, 0.1, DW_INK_TEXT);
    dw_canvas_use(canvas, DW_INK_QUIET);
    cairo_set_line_width(canvas->cairo, 0.2);
    cairo_set_dash(canvas->cairo, (double[]){2, 1.5}, 2, 0);
    cairo_move_to(canvas->cairo, pivot.x + notch, 0);
    cairo_line_to(canvas->cairo, pivot.x + notch, pivot.y);
    cairo_arc(canvas->cairo, pivot.x, pivot.y, notch, 0, M_PI);
    cairo_line_to(canvas->cairo, pivot.x - notch, 0);
    cairo_stroke(canvas->cairo);
    cairo_set_dash(canvas->cairo, NULL, 0, 0);
    dw_template_label(canvas, (DwTemplatePoint){pivot.x, pivot.y - 4}, 0, 0.5, dw_said("cut out"));
}

static void draw_pivot(const DwTemplate *template, const DwTemplatePlan *plan, const DwCanvas *canvas)
{
    DwTemplatePoint pivot = plan->points[DW_TEMPLATE_PIVOT], spindle = plan->points[DW_TEMPLATE_SPINDLE];
    double notch = notch_radius(template);
    draw_pivot_cross(template, pivot, canvas);
    cairo_set_dash(canvas->cairo, (double[]){4, 2}, 2, 0);
    dw_template_line(canvas, (DwTemplatePoint){pivot.x, pivot.y + 8 + notch},
                     (DwTemplatePoint){spindle.x, spindle.y - 9}, 0.15, DW_INK_QUIET);
    cairo_set_dash(canvas->cairo, NULL, 0, 0);
    char *text = dw_say("pivot to spindle %.2f mm", template->pivot_to_spindle_mm);
    dw_template_label(canvas, (DwTemplatePoint){pivot.x - 1.5, (pivot.y + spindle.y) / 2}, -M_PI / 2, 0.5, text);
    free(text);
    dw_template_label(canvas, (DwTemplatePoint){pivot.x + 3.5, pivot.y + 9 + notch}, -M_PI / 2, 1, dw_said("pivot"));
    dw_template_label(canvas, (DwTemplatePoint){spindle.x + 3, spindle.y - 8.5}, 0, 0, dw_said("spindle"));
}

static void draw(const DwTemplate *template, const DwTemplatePlan *plan, const DwCanvas *canvas)
{
    DwTemplatePoint spindle = plan->points[DW_TEMPLATE_SPINDLE];
    draw_groove(template, plan, canvas, template->groove_inner_mm, N_("last groove"));
    draw_groove(template, plan, canvas, template->groove_outer_mm, N_("first groove"));
    draw_arc(template, plan, canvas);
    draw_null(template, plan, canvas, DW_TEMPLATE_NULL_INNER);
    if (!isnan(template->null_outer_mm))
        draw_null(template, plan, canvas, DW_TEMPLATE_NULL_OUTER);
    draw_pivot(template, plan, canvas);
    dw_template_spindle(canvas, spindle);
    dw_template_turning(canvas, spindle, 28, -1.05, 0.25);
    dw_template_label(canvas, (DwTemplatePoint){spindle.x + 9, spindle.y - 28.5}, 0, 0,
                      dw_said("the record is on this side"));
    dw_template_label(canvas, (DwTemplatePoint){spindle.x + 9, spindle.y - 25}, 0, 0, dw_said("and turns this way"));
}

const DwTemplateDrawing dw_template_arc = {N_("Arc protractor"), steps, plan, draw};
