// SPDX-License-Identifier: MIT
// The condition map: a plan of a deck from above with numbered marks.
#include "report/piece.h"

#include "base/memory.h"
#include "base/text.h"

#include <math.h>
#include <stdlib.h>

typedef struct {
    DwPieceMark *marks;
    size_t count;
    char *caption;
} Plan;

static const DwLetters caption_letters = {.size = 0.86, .ink = DW_INK_QUIET};
static const DwLetters number_letters = {.size = 0.8, .bold = true, .ink = DW_INK_TEXT};
static const double plan_width = 18, plan_height = 14; // em, as 45 by 35 cm

static double height_of(const void *content, const DwCanvas *canvas, double width)
{
    const Plan *plan = content;
    return (plan_height + 0.4) * canvas->em + dw_canvas_paragraph_height(canvas, caption_letters, width, plan->caption);
}

// Plinth, platter and arm: enough to say where on a deck a place is.
static void draw_deck(const DwCanvas *canvas, double x, double y, double width, double height)
{
    cairo_t *cairo = canvas->cairo;
    dw_canvas_use(canvas, DW_INK_QUIET);
    cairo_set_line_width(cairo, 0.08 * canvas->em);
    cairo_rectangle(cairo, x, y, width, height);
    cairo_stroke(cairo);
    double platter_x = x + 0.4 * width, platter_y = y + 0.5 * height, radius = 0.43 * height;
    cairo_arc(cairo, platter_x, platter_y, radius, 0, 2 * M_PI);
    cairo_stroke(cairo);
    cairo_arc(cairo, platter_x, platter_y, 0.02 * height, 0, 2 * M_PI);
    cairo_stroke(cairo);
    double pivot_x = x + 0.86 * width, pivot_y = y + 0.2 * height;
    cairo_arc(cairo, pivot_x, pivot_y, 0.06 * height, 0, 2 * M_PI);
    cairo_stroke(cairo);
    cairo_move_to(cairo, pivot_x, pivot_y + 0.06 * height);
    cairo_line_to(cairo, x + 0.84 * width, y + 0.72 * height);
    cairo_line_to(cairo, x + 0.8 * width, y + 0.84 * height);
    cairo_stroke(cairo);
}

static void draw_mark(const DwCanvas *canvas, const DwPieceMark *mark, double x, double y)
{
    double radius = 0.75 * canvas->em;
    cairo_arc(canvas->cairo, x, y, radius, 0, 2 * M_PI);
    dw_canvas_use(canvas, DW_INK_GROUND);
    cairo_fill_preserve(canvas->cairo);
    dw_canvas_use(canvas, DW_INK_TEXT);
    cairo_set_line_width(canvas->cairo, 0.09 * canvas->em);
    cairo_stroke(canvas->cairo);
    char *number = dw_text_format("%zu", mark->number);
    dw_canvas_write(canvas, number_letters, x, y + 0.29 * canvas->em, 0.5, number);
    free(number);
}

static void draw(const void *content, const DwCanvas *canvas, DwBox box)
{
    const Plan *plan = content;
    double em = canvas->em, width = plan_width * em, height = plan_height * em;
    draw_deck(canvas, box.x, box.y, width, height);
    // A mark at the very edge keeps its circle within the plan.
    for (size_t i = 0; i < plan->count; i++) {
        double across = fmin(fmax(plan->marks[i].across * width, em), width - em);
        double along = fmin(fmax(plan->marks[i].along * height, em), height - em);
        draw_mark(canvas, &plan->marks[i], box.x + across, box.y + along);
    }
    dw_canvas_paragraph(canvas, caption_letters, box.x, box.y + height + 0.4 * em, box.width, plan->caption);
}

static void clear(void *content)
{
    Plan *plan = content;
    free(plan->marks);
    free(plan->caption);
}

void dw_piece_plan(DwFlow *flow, const DwPieceMark *marks, size_t count, const char *caption)
{
    static const DwPieceKind kind = {height_of, draw, clear, NULL};
    Plan *plan = dw_flow_add(flow, &kind, sizeof(Plan), 0.6)->content;
    *plan = (Plan){dw_memory_new(count + 1, sizeof *plan->marks), count, dw_memory_text(caption)};
    for (size_t i = 0; i < count; i++)
        plan->marks[i] = marks[i];
    DwPiece *piece = &flow->pieces[flow->count - 1];
    piece->tag = "Figure";
    piece->alt = dw_memory_text(caption);
}
