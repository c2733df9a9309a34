// SPDX-License-Identifier: MIT
#include "chart/sheet/form_drawing.h"

#include "base/paper_marks.h"
#include "base/text.h"
#include "base/tongue.h"

#include <math.h>
#include <stdlib.h>

static const double degree = M_PI / 180;

// What is touched, in the order from the tip to the pivot, and where that lies in the drawn head: along it from the
// tip, and aside, both in shares of its length.
static const struct {
    const char *key;
    double along, aside;
} points[] = {{"touch.tip", 0, 0},
              {"touch.cantilever_front", 0.035, 0},
              {"touch.cantilever_root", 0.11, 0},
              {"touch.body_front", 0.075, 0.085},
              {"touch.body_rear", 0.27, 0.085},
              {"touch.shell_front", 0.03, 0.13},
              {"touch.shell_rear", 0.36, 0.13},
              {"touch.arm_front", 0.46, 0},
              {"touch.arm_rear", 0.82, 0},
              {"touch.pivot", 0.97, 0}};
enum { POINTS = sizeof points / sizeof *points };

// In how many photographs the point is touched; 0:0 says that it is not seen.
static size_t touched(const DwFormDrawing *view, const char *key)
{
    size_t count = 0;
    double across, down;
    for (size_t i = 0; dw_inputs_pair_in(view->inputs, key, i, "", "", &across, &down); i++)
        count += across != 0 || down != 0;
    return count;
}

// --- from above: the arm over the paper, and the telephone's two places ------------------------------

typedef struct {
    DwSpot spindle, pivot, stylus;
    double scale, outwards; // pixels of a millimetre; the direction from the spindle to the stylus
} Plan;

// Seen from the front of a deck: the pivot stands behind to the right, the stylus in front.
static Plan plan_of(const DwFormDrawing *view, DwBox box)
{
    // Millimetres: an arm as it is mostly built, until it is said.
    const double usual_distance = 222, usual_overhang = 17.4, shown_radius = 100, behind = -32, below = 236;
    double distance = dw_form_given(view, "arm.pivot_to_spindle", "mm"),
           length = dw_form_given(view, "arm.effective_length", "mm");
    if (!isfinite(distance) || distance < 100)
        distance = isfinite(length) && length > 150 ? length - usual_overhang : usual_distance;
    if (!isfinite(length) || fabs(length - distance) > 60)
        length = distance + usual_overhang;
    double cosine =
        (distance * distance + shown_radius * shown_radius - length * length) / (2 * distance * shown_radius);
    double wide = 150 + distance * cos(behind * degree) + 25,
           high = fmax(150, -distance * sin(behind * degree)) + below;
    Plan plan = {.scale = fmin(box.width / wide, box.height / high)};
    plan.spindle = (DwSpot){box.x + 150 * plan.scale, box.y + (high - below) * plan.scale};
    plan.pivot = dw_spot_at(plan.spindle, behind * degree, distance * plan.scale);
    plan.outwards = behind * degree + acos(fmax(-1, fmin(1, cosine)));
    plan.stylus = dw_spot_at(plan.spindle, plan.outwards, shown_radius * plan.scale);
    return plan;
}

// The grid's marks: its two points lie on the line from the spindle to the stylus.
static void draw_paper(const DwFormDrawing *view, const Plan *plan)
{
    enum { MARGIN = 12 };
    cairo_t *cairo = view->canvas->cairo;
    size_t count = dw_paper_marks_count(DW_MARKED_GRID);
    cairo_save(cairo);
    cairo_translate(cairo, plan->spindle.x, plan->spindle.y);
    cairo_rotate(cairo, plan->outwards);
    cairo_scale(cairo, plan->scale, plan->scale);
    DwPaperMark last = dw_paper_mark(DW_MARKED_GRID, count - 1);
    dw_canvas_use(view->canvas, DW_INK_GROUND);
    cairo_rectangle(cairo, -MARGIN, -last.y_mm - MARGIN, last.x_mm + 2 * MARGIN, 2 * (last.y_mm + MARGIN));
    cairo_fill_preserve(cairo);
    dw_canvas_use(view->canvas, DW_INK_QUIET);
    cairo_set_line_width(cairo, 0.8);
    cairo_stroke(cairo);
    dw_canvas_use(view->canvas, DW_INK_TEXT);
    for (size_t i = 0; i < count; i++) {
        DwPaperMark mark = dw_paper_mark(DW_MARKED_GRID, i);
        cairo_rectangle(cairo, mark.x_mm - mark.size_mm / 2, mark.y_mm - mark.size_mm / 2, mark.size_mm, mark.size_mm);
    }
    cairo_fill(cairo);
    cairo_restore(cairo);
}

static void draw_places(const DwFormDrawing *view, const Plan *plan)
{
    const double away_mm = 150, apart_deg = 64;
    double em = view->canvas->em, middle = 0.42 * M_PI, away = fmin(away_mm * plan->scale, 9 * em), seen[2];
    for (int i = 0; i < 2; i++) {
        seen[i] = middle + (i ? -0.5 : 0.5) * apart_deg * degree;
        DwSpot place = dw_spot_at(plan->stylus, seen[i], away);
        dw_form_line(view, plan->stylus, place, true, DW_INK_ACCENT);
        dw_form_telephone(view, place, seen[i] + M_PI);
        DwSpot number = dw_spot_at(plan->stylus, seen[i], away + 1.2 * em);
        dw_form_label(view, number.x, number.y, 0.5, DW_INK_ACCENT, dw_text_format("%d", i + 1));
    }
    dw_dimension_angle(view->canvas, plan->stylus, 0.62 * away, seen[0], seen[1], NULL, DW_INK_ACCENT);
}

static void draw_plan(const DwFormDrawing *view, DwBox box)
{
    double em = view->canvas->em, distance = dw_form_given(view, "arm.pivot_to_spindle", "mm"),
           length = dw_form_given(view, "arm.effective_length", "mm");
    Plan plan = plan_of(view, box);
    dw_form_circle(view, plan.spindle, 148 * plan.scale, DW_INK_LINE);
    draw_paper(view, &plan);
    dw_form_circle(view, plan.spindle, 0.2 * em, DW_INK_TEXT);
    dw_dimension_stroke(view->canvas, plan.pivot, plan.stylus, 0.3 * em, false, DW_INK_TEXT);
    dw_form_circle(view, plan.pivot, 0.6 * em, DW_INK_TEXT);
    draw_places(view, &plan);
    dw_form_dot(view, plan.stylus, 0.35 * em, DW_INK_ACCENT);
    dw_form_measure(view, plan.spindle, plan.pivot, -1.6 * em, dw_form_value("pivot to spindle", distance, "mm"));
    dw_form_measure(view, plan.stylus, plan.pivot, 1.5 * em, dw_form_value("length", length, "mm"));
}

// --- the head enlarged, with what is to be touched -----------------------------------------------------

static DwSpot place_of(DwBox box, double along, double aside)
{
    return (DwSpot){box.x + along * box.width, box.y + box.height / 2 + aside * box.width};
}

static void draw_parts(const DwFormDrawing *view, DwBox box)
{
    double em = view->canvas->em, w = box.width;
    DwSpot body = place_of(box, 0.075, -0.085), shell = place_of(box, 0.03, -0.13);
    dw_form_rectangle(view, (DwBox){shell.x, shell.y, 0.33 * w, 0.26 * w}, DW_INK_LINE);
    dw_dimension_stroke(view->canvas, place_of(box, 0.36, 0), place_of(box, 0.97, 0), 0.5 * em, false, DW_INK_LINE);
    dw_form_circle(view, place_of(box, 0.97, 0), 0.9 * em, DW_INK_LINE);
    dw_form_rectangle(view, (DwBox){body.x, body.y, 0.195 * w, 0.17 * w}, DW_INK_TEXT);
    dw_form_line(view, place_of(box, 0, 0), place_of(box, 0.11, 0), false, DW_INK_TEXT);
}

// A filled disc where a point is touched in two photographs, else a ring.
static void draw_point(const DwFormDrawing *view, DwSpot spot, bool there)
{
    double em = view->canvas->em;
    dw_form_dot(view, spot, 0.36 * em, there ? DW_INK_ACCENT : DW_INK_GROUND);
    dw_form_circle(view, spot, 0.36 * em, DW_INK_ACCENT);
}

static void draw_points(const DwFormDrawing *view, DwBox box)
{
    // The numbers of points that lie close together stand apart: aside of them, in em.
    static const double off[POINTS][2] = {{-0.9, 0},   {-0.1, -1.1}, {1, 0},    {-0.2, -1.05}, {0.3, -1.05},
                                          {-0.2, 1.1}, {0, 1.1},     {0, 1.25}, {0, 1.25},     {0, 1.6}};
    double em = view->canvas->em;
    for (size_t i = 0; i < POINTS; i++) {
        DwSpot spot = place_of(box, points[i].along, points[i].aside);
        draw_point(view, spot, touched(view, points[i].key) >= 2);
        char *number = dw_text_format("%zu", i + 1);
        dw_canvas_write(view->canvas, (DwLetters){.size = 0.8, .bold = true, .ink = DW_INK_TEXT},
                        spot.x + off[i][0] * em, spot.y + (off[i][1] + 0.3) * em, 0.5, number);
        free(number);
    }
}

// Which number is what, and in how many photographs it is touched.
static void write_points(const DwFormDrawing *view, DwBox box, size_t columns)
{
    double em = view->canvas->em, wide = box.width / (double)columns;
    size_t rows = (POINTS + columns - 1) / columns;
    for (size_t i = 0; i < POINTS; i++) {
        double x = box.x + wide * (double)(i / rows), y = box.y + (0.8 + 1.5 * (double)(i % rows)) * em;
        size_t count = touched(view, points[i].key);
        draw_point(view, (DwSpot){x + 0.5 * em, y}, count >= 2);
        const char *label = dw_said_label(dw_quantity_find(points[i].key)->label);
        char *text =
            count ? dw_text_format("%zu %s: %zu×", i + 1, label, count) : dw_text_format("%zu %s", i + 1, label);
        dw_form_name(view, (DwLetters){.size = 0.82, .ink = DW_INK_TEXT}, x + 1.3 * em, y + 0.3 * em, wide - 1.8 * em,
                     text);
        free(text);
    }
}

void dw_form_draw_pose(const DwFormDrawing *view)
{
    const DwBox *box = &view->box;
    double em = view->canvas->em;
    bool narrow = dw_form_is_narrow(view);
    DwBox above = {box->x + em, box->y + (narrow ? 2.4 : 1) * em, narrow ? box->width - 2 * em : 0.5 * box->width,
                   narrow ? 0.41 * box->height - 1.2 * em : box->height - 4 * em};
    draw_plan(view, above);
    double words = narrow ? above.y + above.height + em : box->y + box->height - 3.2 * em;
    dw_form_words(view, box->x + em, words, narrow ? box->width - 2 * em : 0.5 * box->width, DW_INK_QUIET,
                  dw_say("Two photographs or more, from different sides; three marks or more in each."));
    DwBox head = narrow ? (DwBox){box->x + 2 * em, words + 3.2 * em, box->width - 4 * em, 0.28 * (box->width - 4 * em)}
                        : (DwBox){box->x + 0.57 * box->width, box->y + 2 * em, 0.4 * box->width, 0.15 * box->width};
    draw_parts(view, head);
    draw_points(view, head);
    double y = head.y + head.height + (narrow ? 1.8 : 2) * em;
    write_points(
        view, (DwBox){narrow ? box->x + em : head.x - em, y, narrow ? box->width - 1.5 * em : head.width + 2 * em, 0},
        narrow ? 2 : 1);
}
