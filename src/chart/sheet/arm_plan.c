// SPDX-License-Identifier: MIT
#include "chart/sheet/arm_plan.h"

#include "base/text.h"
#include "base/tongue.h"
#include "chart/draw/dimension.h"
#include "chart/sheet/arm_view.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double degree = M_PI / 180;
static const double record_mm = 150.8; // of a 12-inch record: 301.6 mm across, IEC 60098 (from memory)
static const double above_mm = 40, below_mm = 160, beyond_pivot_mm = 26;
static const double shown_radius_mm = 94; // where the cartridge is drawn
// A cartridge as it is mostly built: common practice, no source.
static const double nose_mm = 4, tail_mm = 16, half_mm = 8.5, screws_mm = 9.5, half_screws_mm = 6.35;
static const double enlarged = 3.3; // of the headshell's detail
// Where a letter is more than so many millimetres the words need room of their own: above, and a row for the detail.
static const double narrow_mm = 10, narrow_above_mm = 58, narrow_detail_mm = 160, narrow_middle_mm = 64,
                    narrow_enlarged = 5.5;

// What the sheet says; NAN where it does not.
typedef struct {
    double distance, length, offset, null_inner, null_outer; // as it should be
    double found_length, found_offset, slide, twist;
    double skew, forward, back; // travel left in the slots
} Plan;

static Plan plan_of(const DwSheet *sheet)
{
    double pivot_error = dw_arm_view_reading(sheet, "found.pivot_error"),
           travel = dw_arm_view_input(sheet, "arm.slot_length");
    double forward = dw_arm_view_input(sheet, "found.slot_forward"),
           skew = dw_arm_view_input(sheet, "cartridge.cantilever_skew");
    Plan plan = {
        .distance = dw_arm_view_reading(sheet, "align.pivot_to_spindle") + (isnan(pivot_error) ? 0 : pivot_error),
        .length = dw_arm_view_reading(sheet, "align.effective_length"),
        .offset = dw_arm_view_reading(sheet, "align.offset"),
        .null_inner = dw_arm_view_reading(sheet, "align.null_inner"),
        .null_outer = dw_arm_view_reading(sheet, "align.null_outer"),
        .found_length = dw_arm_view_reading(sheet, "found.effective_length"),
        .found_offset = dw_arm_view_reading(sheet, "found.offset"),
        .slide = dw_arm_view_reading(sheet, "move.slide"),
        .twist = dw_arm_view_reading(sheet, "move.twist"),
        .skew = isnan(skew) ? 0 : skew,
        .forward = isnan(forward) ? travel / 2 : forward,
    };
    plan.back = travel - plan.forward;
    if (!isnan(pivot_error) && !isnan(dw_arm_view_reading(sheet, "move.overhang"))) {
        // Mounted elsewhere, what is to be set is what the move ends at.
        plan.length = plan.distance + dw_arm_view_reading(sheet, "move.overhang");
        plan.offset = dw_arm_view_reading(sheet, "move.offset");
    }
    return plan;
}

bool dw_arm_plan_fits(const DwSheet *sheet)
{
    Plan plan = plan_of(sheet);
    double sum = plan.distance + plan.length + plan.offset;
    bool drawn = strcmp(sheet->procedure, "align") == 0 || strcmp(sheet->procedure, "template") == 0;
    return drawn && isfinite(sum) && plan.distance > 20 && plan.length > 20 && fabs(plan.length - plan.distance) < 60;
}

const char *dw_arm_plan_title(void)
{
    return dw_said("The arm from above");
}

char *dw_arm_plan_words(const DwSheet *sheet)
{
    Plan plan = plan_of(sheet);
    double overhang = plan.length - plan.distance;
    DwText words = {0};
    dw_text_add_taken(
        &words, "",
        dw_say("To scale, seen from above. The pivot stands %.1f mm from the spindle; the stylus swings on an arc of "
               "%.1f mm and comes %.1f mm %s the spindle; the cartridge stands %.1f° to the arm's line.",
               plan.distance, plan.length, fabs(overhang), overhang < 0 ? dw_said("short of") : dw_said("past"),
               plan.offset));
    if (isfinite(plan.slide) && isfinite(plan.twist)) {
        dw_text_add(&words, " %s", dw_said("The detail shows the headshell: dashed as found, solid after the move."));
        if (fabs(plan.slide) >= 0.05)
            dw_text_add_taken(
                &words, " ",
                dw_say("%s %.1f mm.", plan.slide > 0 ? dw_said("Forward") : dw_said("Back"), fabs(plan.slide)));
        if (fabs(plan.twist) >= 0.05)
            dw_text_add_taken(
                &words, " ",
                dw_say("%.1f° %s.", fabs(plan.twist), plan.twist > 0 ? dw_said("inwards") : dw_said("outwards")));
    }
    return dw_text_take(&words);
}

static double scale_of(const Plan *plan, double width)
{
    return width / (record_mm + plan->distance + beyond_pivot_mm + fmax(0, 250 - plan->distance) * 0.3);
}

static bool has_detail(const Plan *plan)
{
    return isfinite(plan->slide) && isfinite(plan->twist);
}

static double height_mm(const Plan *plan, bool is_narrow)
{
    return is_narrow ? narrow_above_mm + below_mm + (has_detail(plan) ? narrow_detail_mm : 0) : above_mm + below_mm;
}

double dw_arm_plan_height(const DwSheet *sheet, double width, double em)
{
    Plan plan = plan_of(sheet);
    double scale = scale_of(&plan, width);
    return height_mm(&plan, em > narrow_mm * scale) * scale;
}

// The drawing: the spindle's place and the pixels of a millimetre.
typedef struct {
    const DwCanvas *canvas;
    Plan plan;
    DwSpot spindle, pivot;
    double scale;
    bool is_narrow;
} View;

// Where a stylus stands at RADIUS on an arm of LENGTH: in front of the line from spindle to pivot.
static DwSpot stylus_at(const View *view, double length, double radius)
{
    double d = view->plan.distance, x = (d * d + radius * radius - length * length) / (2 * d);
    return (DwSpot){view->spindle.x + x * view->scale,
                    view->spindle.y + sqrt(fmax(0, radius * radius - x * x)) * view->scale};
}

static void circle(const View *view, DwSpot centre, double radius_mm, DwInk ink, double width, bool fill)
{
    cairo_t *cairo = view->canvas->cairo;
    dw_canvas_use(view->canvas, ink);
    cairo_new_sub_path(cairo);
    cairo_arc(cairo, centre.x, centre.y, radius_mm * view->scale, 0, 2 * M_PI);
    cairo_set_line_width(cairo, width * view->canvas->em);
    if (fill)
        cairo_fill(cairo);
    else
        cairo_stroke(cairo);
}

static void draw_record(const View *view)
{
    circle(view, view->spindle, record_mm, DW_INK_LINE, 0.08, false);
    circle(view, view->spindle, 146.05, DW_INK_LINE, 0.05, false);
    circle(view, view->spindle, 60.325, DW_INK_LINE, 0.05, false);
    circle(view, view->spindle, 7.24 / 2, DW_INK_TEXT, 0.1, false);
    double under = fmax(11 * view->scale, 5 * view->scale + 0.55 * view->canvas->em);
    dw_dimension_label(view->canvas, (DwSpot){view->spindle.x + 3 * view->scale, view->spindle.y + under}, 0, 0.4,
                       DW_INK_QUIET, dw_said("spindle"));
}

// The stylus's path, and where the cartridge stands tangent on it.
static void draw_arc(const View *view)
{
    cairo_t *cairo = view->canvas->cairo;
    dw_canvas_use(view->canvas, DW_INK_ACCENT);
    cairo_set_line_width(cairo, 0.09 * view->canvas->em);
    double overhang = view->plan.length - view->plan.distance;
    for (double radius = fmax(fabs(overhang) + 0.05, 1); radius <= 148; radius += 1) {
        DwSpot at = stylus_at(view, view->plan.length, radius);
        cairo_line_to(cairo, at.x, at.y);
    }
    cairo_stroke(cairo);
    const double nulls[] = {view->plan.null_inner, view->plan.null_outer};
    for (int i = 0; i < 2; i++) {
        if (isnan(nulls[i]))
            continue;
        DwSpot at = stylus_at(view, view->plan.length, nulls[i]);
        circle(view, at, 1.3, DW_INK_ACCENT, 0.1, true);
        char *text = dw_say("tangent at %.1f", nulls[i]);
        // Where it is narrow the arm stands behind the inner one.
        bool before = view->is_narrow && i == 0;
        dw_dimension_label(view->canvas, (DwSpot){at.x + (before ? -5 : 5) * view->scale, at.y}, 0, before ? 1 : 0,
                           DW_INK_ACCENT, text);
        free(text);
    }
}

// The cartridge's body about the stylus, its nose along ANGLE, SIZE pixels to the millimetre.
static void draw_body(const DwCanvas *canvas, DwSpot stylus, double angle, double size, bool dashed, DwInk ink)
{
    cairo_t *cairo = canvas->cairo;
    cairo_save(cairo);
    cairo_translate(cairo, stylus.x, stylus.y);
    cairo_rotate(cairo, angle);
    cairo_rectangle(cairo, -tail_mm * size, -half_mm * size, (tail_mm + nose_mm) * size, 2 * half_mm * size);
    cairo_restore(cairo);
    dw_canvas_use(canvas, ink);
    cairo_set_line_width(canvas->cairo, 0.1 * canvas->em);
    if (dashed)
        cairo_set_dash(cairo, (double[]){0.4 * canvas->em, 0.3 * canvas->em}, 2, 0);
    cairo_stroke(cairo);
    cairo_set_dash(cairo, NULL, 0, 0);
}

// The arm with its cartridge at the shown radius. From the pivot the arm goes to
// the front left; inwards is the turn towards the spindle, which is clockwise.
static void draw_arm(const View *view)
{
    const Plan *plan = &view->plan;
    const DwCanvas *canvas = view->canvas;
    DwSpot stylus = stylus_at(view, plan->length, shown_radius_mm);
    double line = dw_spot_towards(view->pivot, stylus), nose = line + plan->offset * degree;
    dw_dimension_stroke(canvas, view->pivot, dw_spot_at(stylus, line, -14 * view->scale), 0.28 * canvas->em, false,
                        DW_INK_LINE);
    dw_dimension_stroke(canvas, view->pivot, dw_spot_at(stylus, line, 46 * view->scale), 0.04 * canvas->em, true,
                        DW_INK_QUIET);
    draw_body(canvas, stylus, nose - plan->skew * degree, view->scale, false, DW_INK_TEXT);
    dw_dimension_stroke(canvas, stylus, dw_spot_at(stylus, nose, 44 * view->scale), 0.05 * canvas->em, true,
                        DW_INK_TEXT);
    dw_dimension_stroke(canvas, dw_spot_at(stylus, nose, -tail_mm * 0.6 * view->scale), stylus, 0.12 * canvas->em,
                        false, DW_INK_TEXT);
    circle(view, stylus, 0.9, DW_INK_TEXT, 0.1, true);
    char *text = dw_say("offset %.2f°", plan->offset);
    dw_dimension_angle(canvas, stylus, 38 * view->scale, line, nose, text, DW_INK_TEXT);
    free(text);
    text = dw_say("effective length %.2f mm", plan->length);
    dw_dimension_draw(canvas, stylus, view->pivot, 13 * view->scale, text);
    free(text);
}

static void draw_distance(const View *view)
{
    const DwCanvas *canvas = view->canvas;
    circle(view, view->pivot, 5, DW_INK_TEXT, 0.1, false);
    circle(view, view->pivot, 1, DW_INK_TEXT, 0.1, true);
    DwSpot beside = {view->pivot.x + 8 * view->scale, view->pivot.y},
           over = {view->pivot.x + 20 * view->scale, view->pivot.y - 28 * view->scale};
    // Beside it only where the picture does not end too soon.
    bool is_over = view->is_narrow || (beyond_pivot_mm - 8) * view->scale < 3.2 * canvas->em;
    dw_dimension_label(canvas, is_over ? over : beside, 0, is_over ? 1 : 0, DW_INK_QUIET, dw_said("pivot"));
    dw_dimension_stroke(canvas, view->spindle, view->pivot, 0.04 * canvas->em, true, DW_INK_QUIET);
    char *text = dw_say("pivot to spindle %.2f mm", view->plan.distance);
    dw_dimension_draw(canvas, view->spindle, view->pivot, -14 * view->scale, text);
    free(text);
    double overhang = view->plan.length - view->plan.distance;
    DwSpot swung = {view->spindle.x - overhang * view->scale, view->spindle.y};
    circle(view, swung, 1, DW_INK_ACCENT, 0.1, true);
    text = dw_say("overhang %.2f mm", overhang);
    dw_dimension_draw(canvas, swung, view->spindle, -26 * view->scale, text);
    free(text);
}

// A slot and its screw, with the travel that is left to either side.
static void draw_slots(const DwCanvas *canvas, const Plan *plan, DwSpot stylus, double angle, double size)
{
    bool known = isfinite(plan->forward) && isfinite(plan->back);
    for (int side = -1; side <= 1; side += 2) {
        DwSpot screw =
            dw_spot_at(dw_spot_at(stylus, angle, -screws_mm * size), angle + M_PI / 2, side * half_screws_mm * size);
        if (known) {
            cairo_set_line_cap(canvas->cairo, CAIRO_LINE_CAP_ROUND);
            dw_dimension_stroke(canvas, dw_spot_at(screw, angle, -plan->back * size),
                                dw_spot_at(screw, angle, plan->forward * size), 2.6 * size, false, DW_INK_LINE);
            cairo_set_line_cap(canvas->cairo, CAIRO_LINE_CAP_BUTT);
        }
        dw_canvas_use(canvas, DW_INK_QUIET);
        cairo_arc(canvas->cairo, screw.x, screw.y, 1.25 * size, 0, 2 * M_PI);
        cairo_fill(canvas->cairo);
    }
}

static char *move_words(const char *towards, const char *away, double value, const char *unit)
{
    return dw_say("%s %.1f%s", value >= 0 ? towards : away, fabs(value), unit);
}

static void draw_travel(const DwCanvas *canvas, const Plan *plan, DwSpot stylus, double size)
{
    if (!isfinite(plan->forward) || !isfinite(plan->back))
        return;
    char *text = dw_say("travel left %.1f forward, %.1f back", plan->forward, plan->back);
    dw_dimension_label(canvas,
                       (DwSpot){stylus.x + (tail_mm + 4) * size, stylus.y + (half_mm + 3.4) * size + canvas->em}, 0, 1,
                       DW_INK_QUIET, text);
    free(text);
}

// The headshell enlarged, its nose to the left and the spindle's side up: as found and after the move.
static void draw_detail(const View *view, DwSpot middle)
{
    const Plan *plan = &view->plan;
    const DwCanvas *canvas = view->canvas;
    double size = (view->is_narrow ? narrow_enlarged : enlarged) * view->scale;
    DwSpot stylus = {middle.x - 6 * size, middle.y};
    double nose = M_PI; // to the left; a turn inwards is clockwise
    draw_slots(canvas, plan, stylus, nose, size);
    draw_body(canvas, stylus, nose, size, true, DW_INK_QUIET);
    DwSpot moved = dw_spot_at(stylus, nose, plan->slide * size);
    double turned = nose + plan->twist * degree;
    draw_body(canvas, moved, turned, size, false, DW_INK_ACCENT);
    dw_dimension_stroke(canvas, dw_spot_at(moved, turned, -7 * size), dw_spot_at(moved, turned, 7 * size),
                        0.06 * canvas->em, true, DW_INK_ACCENT);
    DwSpot tail = {stylus.x + 16 * size, stylus.y + (half_mm + 1.6) * size};
    if (fabs(plan->slide) >= 0.05) {
        double reach = 9 * size * (plan->slide > 0 ? -1 : 1);
        DwSpot from = {stylus.x + screws_mm * size - reach / 2, tail.y}, to = {from.x + reach, tail.y};
        dw_dimension_arrow(canvas, from, to, DW_INK_ACCENT);
        char *text = move_words(dw_said("forward"), dw_said("back"), plan->slide, " mm");
        // Before the arrow: behind it the picture ends.
        dw_dimension_label(canvas, (DwSpot){fmin(from.x, to.x) - 0.6 * canvas->em, tail.y}, 0, 1, DW_INK_ACCENT, text);
        free(text);
    }
    if (fabs(plan->twist) >= 0.05) {
        double sense = plan->twist > 0 ? 1 : -1;
        char *text = move_words(dw_said("inwards"), dw_said("outwards"), plan->twist, "°");
        dw_dimension_angle(canvas, moved, 8.5 * size, nose - sense * 0.32, nose + sense * 0.32, NULL, DW_INK_ACCENT);
        dw_dimension_label(canvas, (DwSpot){moved.x - 9 * size, moved.y}, 0, 1, DW_INK_ACCENT, text);
        free(text);
    }
    draw_travel(canvas, plan, stylus, size);
    DwSpot head = {stylus.x + screws_mm * size, stylus.y - (half_mm + 2.2) * size};
    dw_dimension_label(canvas, head, 0, 0.5, DW_INK_QUIET, dw_said("headshell, enlarged"));
}

void dw_arm_plan_draw(const DwCanvas *canvas, const DwSheet *sheet, DwBox box)
{
    Plan plan = plan_of(sheet);
    double scale = scale_of(&plan, box.width);
    bool is_narrow = canvas->em > narrow_mm * scale;
    scale = fmin(scale, box.height / height_mm(&plan, is_narrow));
    DwSpot spindle = {box.x + record_mm * scale, box.y + (is_narrow ? narrow_above_mm : above_mm) * scale};
    View view = {canvas, plan, spindle, {spindle.x + plan.distance * scale, spindle.y}, scale, is_narrow};
    cairo_save(canvas->cairo);
    cairo_rectangle(canvas->cairo, box.x, box.y, box.width, box.height);
    cairo_clip(canvas->cairo);
    draw_record(&view);
    draw_arc(&view);
    draw_arm(&view);
    draw_distance(&view);
    DwSpot below = {box.x + box.width / 2, spindle.y + (below_mm + narrow_middle_mm) * scale};
    if (has_detail(&plan))
        draw_detail(&view, is_narrow ? below : (DwSpot){view.pivot.x - 34 * scale, spindle.y + 105 * scale});
    cairo_restore(canvas->cairo);
}
