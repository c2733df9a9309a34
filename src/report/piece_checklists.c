// SPDX-License-Identifier: MIT
// Two lists side by side whose boxes are ticked by hand.
#include "report/piece.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

typedef struct {
    char *title;
    char **lines;
    size_t count;
} List;

typedef struct {
    List lists[2];
} Checklists;

static const DwLetters title_letters = {.size = 1.15, .bold = true, .ink = DW_INK_TEXT};
static const DwLetters line_letters = {.size = 1, .ink = DW_INK_TEXT};
static const double gap = 1.5, indent = 1.5, apart = 0.35; // em

static double list_width(const DwCanvas *canvas, double width)
{
    return (width - gap * canvas->em) / 2;
}

static double list_height(const List *list, const DwCanvas *canvas, double width)
{
    double height = dw_canvas_paragraph_height(canvas, title_letters, width, list->title);
    for (size_t i = 0; i < list->count; i++)
        height += apart * canvas->em +
                  dw_canvas_paragraph_height(canvas, line_letters, width - indent * canvas->em, list->lines[i]);
    return height;
}

static double height_of(const void *content, const DwCanvas *canvas, double width)
{
    const Checklists *lists = content;
    double each = list_width(canvas, width);
    return fmax(list_height(&lists->lists[0], canvas, each), list_height(&lists->lists[1], canvas, each));
}

static void draw_list(const List *list, const DwCanvas *canvas, double x, double y, double width)
{
    double em = canvas->em, size = 0.85 * em;
    y += dw_canvas_paragraph(canvas, title_letters, x, y, width, list->title);
    for (size_t i = 0; i < list->count; i++) {
        y += apart * em;
        dw_canvas_use(canvas, DW_INK_TEXT);
        cairo_set_line_width(canvas->cairo, 0.08 * em);
        cairo_rectangle(canvas->cairo, x + 0.05 * em, y + dw_canvas_baseline(canvas, line_letters) - size + 0.08 * em,
                        size, size);
        cairo_stroke(canvas->cairo);
        y += dw_canvas_paragraph(canvas, line_letters, x + indent * em, y, width - indent * em, list->lines[i]);
    }
}

static void draw(const void *content, const DwCanvas *canvas, DwBox box)
{
    const Checklists *lists = content;
    double width = list_width(canvas, box.width);
    for (size_t i = 0; i < 2; i++)
        draw_list(&lists->lists[i], canvas, box.x + (double)i * (width + gap * canvas->em), box.y, width);
}

static void clear(void *content)
{
    Checklists *lists = content;
    for (size_t l = 0; l < 2; l++) {
        for (size_t i = 0; i < lists->lists[l].count; i++)
            free(lists->lists[l].lines[i]);
        free(lists->lists[l].lines);
        free(lists->lists[l].title);
    }
}

static List make_list(const DwPieceChecklist *given)
{
    List list = {dw_memory_text(given->title), dw_memory_new(given->count + 1, sizeof *list.lines), given->count};
    for (size_t i = 0; i < given->count; i++)
        list.lines[i] = dw_memory_text(given->lines[i]);
    return list;
}

void dw_piece_checklists(DwFlow *flow, const DwPieceChecklist *left, const DwPieceChecklist *right)
{
    static const DwPieceKind kind = {height_of, draw, clear, NULL};
    Checklists *lists = dw_flow_add(flow, &kind, sizeof(Checklists), 1.2)->content;
    lists->lists[0] = make_list(left);
    lists->lists[1] = make_list(right);
}
