// SPDX-License-Identifier: MIT
#include "chart/sheet/arm_side.h"

#include "base/text.h"
#include "base/tongue.h"
#include "chart/draw/dimension.h"
#include "chart/sheet/arm_view.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double degree = M_PI / 180;
static const double usual_height_mm = 18, usual_base_mm = 14; // where they were not given
static const double least_mm = 0.05;

typedef struct {
    double rake, target, length, height, raise, wedge, base;
    bool thick_at_nose;
} Side;

static Side side_of(const DwSheet *sheet)
{
    const DwReading *wedge = dw_sheet_reading(sheet, "rake.wedge");
    double height = dw_arm_view_input(sheet, "arm.bearing_height"), base = dw_arm_view_input(sheet, "rake.wedge_base");
    return (Side){
        .rake = dw_arm_view_reading(sheet, "rake.angle"),
        .target = dw_arm_view_input(sheet, "rake.target"),
        .length = dw_arm_view_input(sheet, "arm.effective_length"),
        .height = isnan(height) ? usual_height_mm : height,
        .raise = dw_arm_view_reading(sheet, "rake.spacer"),
        .wedge = wedge ? wedge->value : NAN,
        .base = isnan(base) ? usual_base_mm : base,
        .thick_at_nose = wedge && strstr(wedge->label, "nose"),
    };
}

bool dw_arm_side_fits(const DwSheet *sheet)
{
    Side side = side_of(sheet);
    return strcmp(sheet->procedure, "rake") == 0 && isfinite(side.rake + side.target + side.length + side.raise) &&
           side.length > 50 && side.rake > 45 && side.rake < 135;
}

const char *dw_arm_side_title(void)
{
    return dw_said("The arm from the side");
}

char *dw_arm_side_words(const DwSheet *sheet)
{
    Side side = side_of(sheet);
    DwText words = {0};
    dw_text_add_taken(&words, "",
                      dw_say("The stylus stands at %.1f° to the record on the pivot's side; wanted is %.1f° (dashed).",
                             side.rake, side.target));
    if (fabs(side.raise) >= least_mm)
        dw_text_add_taken(&words, " ",
                          side.raise > 0 ? dw_say("Raise the arm's pivot by %.1f mm.", side.raise)
                                         : dw_say("Lower the arm's pivot by %.1f mm.", -side.raise));
    if (isfinite(side.wedge) && side.wedge >= least_mm)
        dw_text_add_taken(
            &words, " ",
            side.thick_at_nose
                ? dw_say("Or a wedge under the headshell, thicker at the nose by %.2f mm.", side.wedge)
                : dw_say("Or a wedge under the headshell, thicker at the pivot's end by %.2f mm.", side.wedge));
    dw_text_add(&words, " %s", dw_said("The leans are drawn larger than they are."));
    return dw_text_take(&words);
}

double dw_arm_side_height(double width)
{
    return 0.4 * width;
}

// The arm over its record: to scale along, the pillar at the right.
static void draw_arm(const DwCanvas *canvas, const Side *side, DwBox box)
{
    double scale = box.width / (side->length + 60), em = canvas->em;
    double floor_y = box.y + box.height - 1.2 * em;
    DwSpot stylus = {box.x + 24 * scale, floor_y},
           pivot = {stylus.x + side->length * scale, floor_y - side->height * scale};
    dw_dimension_stroke(canvas, (DwSpot){box.x, floor_y}, (DwSpot){pivot.x - 22 * scale, floor_y}, 0.12 * em, false,
                        DW_INK_QUIET);
    dw_dimension_label(canvas, (DwSpot){box.x + 4 * em, floor_y + 0.8 * em}, 0, 0, DW_INK_QUIET, dw_said("record"));
    DwSpot head = {stylus.x, floor_y - 17 * scale};
    dw_dimension_stroke(canvas, head, pivot, 0.3 * em, false, DW_INK_LINE);
    cairo_rectangle(canvas->cairo, head.x - 6 * scale, head.y, 20 * scale, 14 * scale);
    dw_canvas_use(canvas, DW_INK_TEXT);
    cairo_set_line_width(canvas->cairo, 0.08 * em);
    cairo_stroke(canvas->cairo);
    dw_dimension_stroke(canvas, (DwSpot){stylus.x, floor_y - 3 * scale}, stylus, 0.12 * em, false, DW_INK_TEXT);
    cairo_arc(canvas->cairo, pivot.x, pivot.y, 0.35 * em, 0, 2 * M_PI);
    dw_canvas_use(canvas, DW_INK_TEXT);
    cairo_fill(canvas->cairo);
    char *text = dw_say("bearing height %.1f mm", side->height);
    dw_dimension_draw(canvas, (DwSpot){pivot.x, floor_y}, pivot, 5 * scale, "");
    dw_dimension_label(canvas, (DwSpot){pivot.x - 1.2 * em, (floor_y + pivot.y) / 2}, 0, 1, DW_INK_TEXT, text);
    free(text);
    if (fabs(side->raise) < least_mm)
        return;
    double sense = side->raise > 0 ? -1 : 1;
    DwSpot from = {pivot.x, pivot.y + sense * 0.9 * em}, to = {pivot.x, pivot.y + sense * 2.6 * em};
    dw_dimension_arrow(canvas, from, to, DW_INK_ACCENT);
    text = side->raise > 0 ? dw_say("raise by %.2f mm", side->raise) : dw_say("lower by %.2f mm", -side->raise);
    dw_dimension_label(canvas, (DwSpot){pivot.x - 0.8 * em, to.y}, 0, 1, DW_INK_ACCENT, text);
    free(text);
}

// The lean of a rake, three times as large so that it is seen.
static double shown(double rake)
{
    return -(90 + 3 * (rake - 90)) * degree;
}

// The stylus on the record, the pivot's side to the right: as found, and dashed as wanted.
static void draw_stylus(const DwCanvas *canvas, const Side *side, DwBox box)
{
    double em = canvas->em, reach = box.height - 3 * em;
    DwSpot tip = {box.x + box.width * 0.45, box.y + box.height - 1.2 * em};
    dw_dimension_stroke(canvas, (DwSpot){box.x, tip.y}, (DwSpot){box.x + box.width, tip.y}, 0.12 * em, false,
                        DW_INK_QUIET);
    dw_dimension_stroke(canvas, tip, dw_spot_at(tip, shown(side->target), reach), 0.12 * em, true, DW_INK_ACCENT);
    dw_dimension_stroke(canvas, tip, dw_spot_at(tip, shown(side->rake), reach), 0.2 * em, false, DW_INK_TEXT);
    char *text = dw_say("rake %.1f°", side->rake);
    dw_dimension_angle(canvas, tip, reach * 0.45, 0, shown(side->rake), text, DW_INK_TEXT);
    free(text);
    text = dw_say("wanted %.1f°", side->target);
    bool left = side->target > side->rake;
    dw_dimension_label(canvas, dw_spot_at(dw_spot_at(tip, shown(side->target), reach), left ? M_PI : 0, 0.8 * em), 0,
                       left ? 1 : 0, DW_INK_ACCENT, text);
    free(text);
    dw_dimension_label(canvas, (DwSpot){box.x + box.width, tip.y + 0.8 * em}, 0, 1, DW_INK_QUIET,
                       dw_said("to the pivot"));
}

// The wedge between headshell and cartridge, the nose to the left; its height four times as large.
static void draw_wedge(const DwCanvas *canvas, const Side *side, DwBox box)
{
    if (!isfinite(side->wedge) || side->wedge < least_mm)
        return;
    double em = canvas->em, width = box.width * 0.7, scale = width / side->base,
           rise = fmin(4 * side->wedge * scale, 0.4 * box.height);
    DwSpot left = {box.x + 0.15 * box.width, box.y + 3.2 * em}, right = {left.x + width, left.y};
    dw_dimension_label(canvas, (DwSpot){(left.x + right.x) / 2, left.y - 1.6 * em}, 0, 0.5, DW_INK_QUIET,
                       dw_said("headshell above"));
    cairo_move_to(canvas->cairo, left.x, left.y);
    cairo_line_to(canvas->cairo, right.x, right.y);
    double thick = side->thick_at_nose ? left.x : right.x;
    cairo_line_to(canvas->cairo, thick, left.y + rise);
    cairo_close_path(canvas->cairo);
    dw_canvas_use_thin(canvas, DW_INK_ACCENT, 0.25);
    cairo_fill_preserve(canvas->cairo);
    dw_canvas_use(canvas, DW_INK_ACCENT);
    cairo_set_line_width(canvas->cairo, 0.08 * em);
    cairo_stroke(canvas->cairo);
    char *text = side->thick_at_nose ? dw_say("wedge %.2f mm at the nose", side->wedge)
                                     : dw_say("wedge %.2f mm at the pivot's end", side->wedge);
    dw_dimension_label(canvas, (DwSpot){(left.x + right.x) / 2, left.y + rise + 1.2 * em}, 0, 0.5, DW_INK_ACCENT, text);
    free(text);
    dw_dimension_label(canvas, (DwSpot){left.x - 0.5 * em, left.y}, 0, 1, DW_INK_QUIET, dw_said("nose"));
    text = dw_say("over %g mm", side->base);
    dw_dimension_label(canvas, (DwSpot){(left.x + right.x) / 2, left.y + rise + 2.5 * em}, 0, 0.5, DW_INK_QUIET, text);
    free(text);
}

void dw_arm_side_draw(const DwCanvas *canvas, const DwSheet *sheet, DwBox box)
{
    Side side = side_of(sheet);
    double upper = box.height * 0.48, gap = canvas->em;
    DwBox below = {box.x, box.y + upper + gap, box.width / 2 - gap, box.height - upper - gap};
    cairo_save(canvas->cairo);
    cairo_rectangle(canvas->cairo, box.x, box.y, box.width, box.height);
    cairo_clip(canvas->cairo);
    draw_arm(canvas, &side, (DwBox){box.x, box.y, box.width, upper});
    draw_stylus(canvas, &side, below);
    draw_wedge(canvas, &side, (DwBox){box.x + box.width / 2 + gap, below.y, below.width, below.height});
    cairo_restore(canvas->cairo);
}
