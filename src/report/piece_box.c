// SPDX-License-Identifier: MIT
// A boxed caution: a word, not only a sign. Red and its octagon are for what is unsafe.
#include "report/piece.h"

#include "base/memory.h"
#include "chart/draw/mark.h"

#include <stdlib.h>

typedef struct {
    char *word, *text;
    bool unsafe;
} Boxed;

static const DwLetters word_letters = {.size = 1, .bold = true, .ink = DW_INK_TEXT};
static const DwLetters text_letters = {.size = 1, .ink = DW_INK_TEXT};
static const double inset = 0.7, sign = 1.3; // em

static double inner_width(const Boxed *boxed, const DwCanvas *canvas, double width)
{
    return width - (2 * inset + (boxed->unsafe ? sign : 0)) * canvas->em;
}

static double boxed_height(const void *content, const DwCanvas *canvas, double width)
{
    const Boxed *boxed = content;
    double inner = inner_width(boxed, canvas, width);
    return dw_canvas_paragraph_height(canvas, word_letters, inner, boxed->word) +
           dw_canvas_paragraph_height(canvas, text_letters, inner, boxed->text) + (2 * inset + 0.1) * canvas->em;
}

static void draw_boxed(const void *content, const DwCanvas *canvas, DwBox box)
{
    const Boxed *boxed = content;
    double em = canvas->em, line = 0.14 * em, inner = inner_width(boxed, canvas, box.width);
    dw_canvas_use(canvas, boxed->unsafe ? DW_INK_UNSAFE : DW_INK_ATTENTION);
    cairo_set_line_width(canvas->cairo, line);
    cairo_rectangle(canvas->cairo, box.x + line / 2, box.y + line / 2, box.width - line, box.height - line);
    cairo_stroke(canvas->cairo);
    double x = box.x + inset * em, y = box.y + inset * em;
    if (boxed->unsafe) {
        double middle = y + dw_canvas_baseline(canvas, word_letters) - 0.36 * em;
        dw_mark_draw(canvas, DW_VERDICT_UNSAFE, x + 0.45 * em, middle, 0.95 * em);
        x += sign * em;
    }
    y += dw_canvas_paragraph(canvas, word_letters, x, y, inner, boxed->word) + 0.1 * em;
    dw_canvas_paragraph(canvas, text_letters, x, y, inner, boxed->text);
}

static void clear_boxed(void *content)
{
    Boxed *boxed = content;
    free(boxed->word);
    free(boxed->text);
}

void dw_piece_box(DwFlow *flow, const char *word, const char *text, bool unsafe)
{
    static const DwPieceKind kind = {boxed_height, draw_boxed, clear_boxed, NULL};
    if (!*text)
        return;
    DwPiece *piece = dw_flow_add(flow, &kind, sizeof(Boxed), 0.8);
    Boxed *boxed = piece->content;
    piece->begins = true;
    *boxed = (Boxed){dw_memory_text(word), dw_memory_text(text), unsafe};
}
