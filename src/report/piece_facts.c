// SPDX-License-Identifier: MIT
// Two lists of names and values side by side: whose deck, and which deck.
#include "report/piece.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

typedef struct {
    char *title;
    struct {
        char *name, *value;
    } * facts;
    size_t count;
} Column;

typedef struct {
    Column columns[2];
} Facts;

static const DwLetters title_letters = {.size = 1, .bold = true, .ink = DW_INK_TEXT};
static const DwLetters name_letters = {.size = 0.9, .ink = DW_INK_QUIET};
static const DwLetters value_letters = {.size = 0.9, .ink = DW_INK_TEXT};
static const double gap = 1.5, name_share = 0.36, name_most = 9; // em; of a column's width; em

static void begin(const DwCanvas *canvas, const char *tag)
{
    if (!canvas->untagged)
        cairo_tag_begin(canvas->cairo, tag, NULL);
}

static void end(const DwCanvas *canvas, const char *tag)
{
    if (!canvas->untagged)
        cairo_tag_end(canvas->cairo, tag);
}

static void draw_tagged(const DwCanvas *canvas, const char *tag, DwLetters letters, double x, double y, double width,
                        const char *text)
{
    begin(canvas, tag);
    dw_canvas_paragraph(canvas, letters, x, y, width, text);
    end(canvas, tag);
}

// Draws, or with DRAW false only measures. A screen reader hears a heading and a list of names with their values.
// Returned: the height.
static double run_column(const Column *column, const DwCanvas *canvas, double x, double y, double width, bool draw)
{
    double top = y, em = canvas->em, name_width = fmin(name_share * width, name_most * em);
    if (column->title[0] && draw)
        draw_tagged(canvas, "H2", title_letters, x, y, width, column->title);
    if (draw)
        begin(canvas, "L");
    if (column->title[0])
        y += dw_canvas_paragraph_height(canvas, title_letters, width, column->title) + 0.15 * em;
    for (size_t i = 0; i < column->count; i++) {
        const char *name = column->facts[i].name, *value = column->facts[i].value;
        double room = name_width - 0.5 * em, rest = width - name_width;
        double high = fmax(dw_canvas_paragraph_height(canvas, name_letters, room, name),
                           dw_canvas_paragraph_height(canvas, value_letters, rest, value));
        if (draw) {
            begin(canvas, "LI");
            draw_tagged(canvas, "Lbl", name_letters, x, y, room, name);
            draw_tagged(canvas, "LBody", value_letters, x + name_width, y, rest, value);
            end(canvas, "LI");
        }
        y += high + 0.12 * em;
    }
    if (draw)
        end(canvas, "L");
    return y - top;
}

static double run_facts(const Facts *facts, const DwCanvas *canvas, DwBox box, bool draw)
{
    bool both = facts->columns[0].count && facts->columns[1].count;
    double width = both ? (box.width - gap * canvas->em) / 2 : box.width, height = 0, x = box.x;
    for (size_t i = 0; i < 2; i++) {
        if (facts->columns[i].count == 0)
            continue;
        height = fmax(height, run_column(&facts->columns[i], canvas, x, box.y, width, draw));
        x += width + gap * canvas->em;
    }
    return height;
}

static double facts_height(const void *content, const DwCanvas *canvas, double width)
{
    return run_facts(content, canvas, (DwBox){.width = width}, false);
}

static void draw_facts(const void *content, const DwCanvas *canvas, DwBox box)
{
    run_facts(content, canvas, box, true);
}

static void clear_facts(void *content)
{
    Facts *facts = content;
    for (size_t c = 0; c < 2; c++) {
        for (size_t i = 0; i < facts->columns[c].count; i++) {
            free(facts->columns[c].facts[i].name);
            free(facts->columns[c].facts[i].value);
        }
        free(facts->columns[c].facts);
        free(facts->columns[c].title);
    }
}

static Column make_column(const char *title, const DwPieceFact *facts, size_t count)
{
    Column column = {.title = dw_memory_text(title), .facts = dw_memory_new(count + 1, sizeof *column.facts)};
    for (size_t i = 0; i < count; i++) {
        if (!facts[i].value || !*facts[i].value)
            continue;
        column.facts[column.count].name = dw_memory_text(facts[i].name);
        column.facts[column.count++].value = dw_memory_text(facts[i].value);
    }
    return column;
}

void dw_piece_facts(DwFlow *flow, const char *left_title, const DwPieceFact *left, size_t left_count,
                    const char *right_title, const DwPieceFact *right, size_t right_count)
{
    static const DwPieceKind kind = {facts_height, draw_facts, clear_facts, NULL};
    DwPiece *piece = dw_flow_add(flow, &kind, sizeof(Facts), 0.7);
    Facts *facts = piece->content;
    piece->tag = "Div";
    facts->columns[0] = make_column(left_title, left, left_count);
    facts->columns[1] = make_column(right_title, right, right_count);
}
