// SPDX-License-Identifier: MIT
// Pieces that are words: title, heading, paragraph, item of a list.
#include "report/piece.h"

#include "base/memory.h"
#include "base/text.h"

#include <glib.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

// Text in LETTERS, indented by `indent` em, with `sign` hanging before it.
typedef struct {
    char *text;
    char *beside; // at the right end of the first line, or NULL
    const char *sign;
    DwLetters letters;
    double indent;
} Words;

static double words_height(const void *content, const DwCanvas *canvas, double width)
{
    const Words *words = content;
    double beside = words->beside ? 0.4 * width : 0;
    return dw_canvas_paragraph_height(canvas, words->letters, width - words->indent * canvas->em - beside, words->text);
}

static void draw_words(const void *content, const DwCanvas *canvas, DwBox box)
{
    const Words *words = content;
    double indent = words->indent * canvas->em, beside = words->beside ? 0.4 * box.width : 0;
    dw_canvas_paragraph(canvas, words->letters, box.x + indent, box.y, box.width - indent - beside, words->text);
    double baseline = box.y + dw_canvas_baseline(canvas, words->letters);
    if (words->sign)
        dw_canvas_write(canvas, words->letters, box.x, baseline, 0, words->sign);
    DwLetters quiet = {.size = 1, .ink = DW_INK_QUIET};
    if (words->beside)
        dw_canvas_write(canvas, quiet, box.x + box.width, baseline, 1, words->beside);
}

static void clear_words(void *content)
{
    Words *words = content;
    free(words->text);
    free(words->beside);
}

static const DwPieceKind words_kind = {words_height, draw_words, clear_words, NULL};

static DwPiece *add_words(DwFlow *flow, Words words, double space)
{
    DwPiece *piece = dw_flow_add(flow, &words_kind, sizeof words, space);
    *(Words *)piece->content = words;
    return piece;
}

void dw_piece_title(DwFlow *flow, const char *title, const char *beside)
{
    Words words = {.text = dw_memory_text(title), .letters = {.size = 1.7, .bold = true, .ink = DW_INK_TEXT}};
    words.beside = *beside ? dw_memory_text(beside) : NULL;
    DwPiece *piece = add_words(flow, words, 1);
    piece->with_next = true;
    piece->tag = "H1";
}

void dw_piece_heading(DwFlow *flow, const char *heading)
{
    Words words = {.text = dw_memory_text(heading), .letters = {.size = 1.15, .bold = true, .ink = DW_INK_TEXT}};
    DwPiece *piece = add_words(flow, words, 1.2);
    piece->with_next = true;
    piece->tag = "H2";
    piece->begins = true;
}

// A paragraph is cut into its first two lines, single lines and its last two, so
// that it may run on to the next page without leaving a line alone.
static void add_paragraph(DwFlow *flow, Words words, const char *text, double space)
{
    double width = flow->width - words.indent * flow->canvas->em;
    bool first = true;
    while (*text) {
        size_t all = strlen(text);
        size_t length = dw_canvas_paragraph_break(flow->canvas, words.letters, width, text, first ? 2 : 1);
        bool rest_is_short = dw_canvas_paragraph_break(flow->canvas, words.letters, width, text, first ? 4 : 3) == all;
        if (rest_is_short)
            length = all;
        Words part = words;
        part.text = dw_text_format("%.*s", (int)length, text);
        g_strchomp(part.text);
        part.sign = first ? words.sign : NULL;
        DwPiece *piece = add_words(flow, part, first ? space : 0);
        piece->goes_on = !first;
        piece->tag = words.sign ? "LI" : "P";
        piece->within = words.sign ? "L" : NULL;
        text += length;
        first = false;
    }
}

static void add_paragraphs(DwFlow *flow, Words words, const char *text, double space)
{
    char *valid = g_utf8_make_valid(text, -1);
    char **lines = g_strsplit(valid, "\n", -1);
    for (char **line = lines; *line; line++)
        if (*g_strstrip(*line))
            add_paragraph(flow, words, *line, space);
    g_strfreev(lines);
    g_free(valid);
}

void dw_piece_paragraph(DwFlow *flow, const char *text)
{
    add_paragraphs(flow, (Words){.letters = {.size = 1, .ink = DW_INK_TEXT}}, text, 0.45);
}

void dw_piece_quiet(DwFlow *flow, const char *text)
{
    add_paragraphs(flow, (Words){.letters = {.size = 0.86, .ink = DW_INK_QUIET}}, text, 0.4);
}

void dw_piece_item(DwFlow *flow, const char *text)
{
    Words words = {.letters = {.size = 1, .ink = DW_INK_TEXT}, .indent = 1.1, .sign = "–"};
    add_paragraphs(flow, words, text, 0.3);
}

typedef struct {
    char *text;
    bool ticked;
} Tick;

static const DwLetters tick_letters = {.size = 1, .ink = DW_INK_TEXT};
static const double tick_indent = 1.7;

static double tick_height(const void *content, const DwCanvas *canvas, double width)
{
    const Tick *tick = content;
    return dw_canvas_paragraph_height(canvas, tick_letters, width - tick_indent * canvas->em, tick->text);
}

static void draw_tick(const void *content, const DwCanvas *canvas, DwBox box)
{
    const Tick *tick = content;
    double em = canvas->em, baseline = box.y + dw_canvas_baseline(canvas, tick_letters), size = 0.85 * em;
    dw_canvas_use(canvas, DW_INK_TEXT);
    cairo_set_line_width(canvas->cairo, 0.08 * em);
    cairo_rectangle(canvas->cairo, box.x + 0.05 * em, baseline - size + 0.08 * em, size, size);
    cairo_stroke(canvas->cairo);
    if (tick->ticked) {
        cairo_set_line_width(canvas->cairo, 0.16 * em);
        cairo_move_to(canvas->cairo, box.x + 0.2 * em, baseline - 0.38 * em);
        cairo_line_to(canvas->cairo, box.x + 0.4 * em, baseline - 0.12 * em);
        cairo_line_to(canvas->cairo, box.x + 0.78 * em, baseline - 0.64 * em);
        cairo_stroke(canvas->cairo);
    }
    dw_canvas_paragraph(canvas, tick_letters, box.x + tick_indent * em, box.y, box.width - tick_indent * em,
                        tick->text);
}

static void clear_tick(void *content)
{
    free(((Tick *)content)->text);
}

void dw_piece_tick(DwFlow *flow, const char *text, bool ticked)
{
    static const DwPieceKind kind = {tick_height, draw_tick, clear_tick, NULL};
    if (!*text)
        return;
    Tick *tick = dw_flow_add(flow, &kind, sizeof(Tick), 0.35)->content;
    *tick = (Tick){dw_memory_text(text), ticked};
}
