// SPDX-License-Identifier: MIT
// Tables: a row is a piece, so that a table breaks between rows only, and its
// head is repeated on every page.
#include "report/piece.h"

#include "base/memory.h"
#include "base/text.h"
#include "chart/draw/mark.h"

#include <glib.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    const DwPaperColumn *columns; // the head's
    size_t count;
    char **texts;
    DwVerdict *verdicts;
    bool is_head, is_sum;
} Row;

static const double pad = 0.28, gutter = 0.8; // em
static const double decimal_share = 0.55;     // of a column's width, left of the mark

static DwLetters letters_of(const Row *row)
{
    return row->is_head ? (DwLetters){.size = 0.82, .ink = DW_INK_QUIET}
                        : (DwLetters){.size = 0.9, .bold = row->is_sum, .ink = DW_INK_TEXT};
}

static double cell_width(const Row *row, const DwCanvas *canvas, size_t column, double width)
{
    bool last = column + 1 == row->count;
    return row->columns[column].share * width - (last ? 0 : gutter * canvas->em);
}

// How much of a number stands before its decimal mark, its sign included.
static size_t whole_length(const char *number)
{
    size_t sign = strncmp(number, "−", strlen("−")) == 0 ? strlen("−") : strspn(number, "+-");
    return sign + strspn(number + sign, "0123456789");
}

// A number or a head that is too wide for its column is broken like words.
static bool is_wrapped(const Row *row, const DwCanvas *canvas, size_t column, double width)
{
    if (row->columns[column].kind == DW_CELL_VERDICT)
        return row->is_head;
    return row->columns[column].kind == DW_CELL_LEFT ||
           dw_canvas_width(canvas, letters_of(row), row->texts[column]) > cell_width(row, canvas, column, width);
}

static double row_height(const void *content, const DwCanvas *canvas, double width)
{
    const Row *row = content;
    double height = dw_canvas_paragraph_height(canvas, letters_of(row), width, "x");
    for (size_t i = 0; i < row->count; i++)
        if (is_wrapped(row, canvas, i, width))
            height = fmax(height, dw_canvas_paragraph_height(canvas, letters_of(row), cell_width(row, canvas, i, width),
                                                             row->texts[i]));
    return height + 2 * pad * canvas->em;
}

// The head of a column of numbers stands over the numbers.
static void draw_cell(const Row *row, const DwCanvas *canvas, size_t column, double x, double y, double width)
{
    DwLetters letters = letters_of(row);
    const char *text = row->texts[column];
    double baseline = y + dw_canvas_baseline(canvas, letters);
    DwCellKind kind = row->columns[column].kind;
    bool fits = dw_canvas_width(canvas, letters, text) <= width;
    if (kind == DW_CELL_VERDICT && !row->is_head) {
        DwVerdict verdict = row->verdicts[column];
        double end = x + dw_mark_word_width(canvas, verdict, letters);
        dw_mark_draw_with_word(canvas, verdict, end, baseline, letters);
    } else if (kind == DW_CELL_RIGHT && fits)
        dw_canvas_write(canvas, letters, x + width, baseline, 1, text);
    else if (kind == DW_CELL_DECIMAL && fits && !row->is_head) {
        char *whole = dw_text_format("%.*s", (int)whole_length(text), text);
        double left = x + decimal_share * width - dw_canvas_width(canvas, letters, whole);
        left = fmin(fmax(left, x), x + width - dw_canvas_width(canvas, letters, text));
        dw_canvas_write(canvas, letters, left, baseline, 0, text);
        free(whole);
    } else
        dw_canvas_paragraph(canvas, letters, x, y, width, text);
}

static void draw_row(const void *content, const DwCanvas *canvas, DwBox box)
{
    const Row *row = content;
    double x = box.x, em = canvas->em;
    for (size_t i = 0; i < row->count; i++) {
        const char *tag = row->is_head ? "TH" : "TD";
        if (!canvas->untagged)
            cairo_tag_begin(canvas->cairo, tag, NULL);
        draw_cell(row, canvas, i, x, box.y + pad * em, cell_width(row, canvas, i, box.width));
        if (!canvas->untagged)
            cairo_tag_end(canvas->cairo, tag);
        x += row->columns[i].share * box.width;
    }
    dw_canvas_use(canvas, row->is_head ? DW_INK_QUIET : DW_INK_LINE);
    cairo_rectangle(canvas->cairo, box.x, box.y + box.height - 0.06 * em, box.width, 0.06 * em);
    cairo_fill(canvas->cairo);
}

static void clear_row(void *content)
{
    Row *row = content;
    for (size_t i = 0; i < row->count; i++)
        free(row->texts[i]);
    free(row->texts);
    free(row->verdicts);
    if (row->is_head)
        free((void *)row->columns);
}

static const DwPieceKind row_kind = {row_height, draw_row, clear_row, NULL};

static Row *add_row(DwPaperTable *table, DwPiece **piece)
{
    *piece = dw_flow_add(table->flow, &row_kind, sizeof(Row), 0);
    (*piece)->head = table->head;
    (*piece)->tag = "TR";
    (*piece)->within = "Table";
    Row *row = (*piece)->content;
    *row = (Row){.columns = table->columns, .count = table->count};
    row->texts = dw_memory_new(table->count, sizeof *row->texts);
    row->verdicts = dw_memory_new(table->count, sizeof *row->verdicts);
    return row;
}

DwPaperTable dw_piece_table_begin(DwFlow *flow, const DwPaperColumn *columns, size_t count)
{
    DwPaperColumn *kept = dw_memory_new(count, sizeof *kept);
    memcpy(kept, columns, count * sizeof *kept);
    DwPaperTable table = {.flow = flow, .columns = kept, .count = count};
    DwPiece *piece;
    Row *row = add_row(&table, &piece);
    row->is_head = true;
    for (size_t i = 0; i < count; i++)
        row->texts[i] = dw_memory_text(columns[i].title);
    piece->space = 0.4;
    piece->with_next = true;
    table.head = flow->count;
    return table;
}

// A row whose words would fill more than a third of a page goes on in further rows.
static void add_rows(DwPaperTable *table, const char **texts, const DwPaperCell *cells, bool is_sum)
{
    enum { LINES_MOST = 16 };
    DwPiece *piece;
    Row *row = add_row(table, &piece);
    row->is_sum = is_sum;
    bool goes_on = false;
    for (size_t i = 0; i < table->count; i++) {
        size_t length = dw_canvas_paragraph_break(table->flow->canvas, letters_of(row),
                                                  cell_width(row, table->flow->canvas, i, table->flow->width), texts[i],
                                                  LINES_MOST);
        row->texts[i] = dw_text_format("%.*s", (int)length, texts[i]);
        row->verdicts[i] = cells ? cells[i].verdict : DW_VERDICT_NONE;
        texts[i] += length;
        goes_on = goes_on || *texts[i];
    }
    if (goes_on)
        add_rows(table, texts, NULL, is_sum);
}

static void add_valid(DwPaperTable *table, const DwPaperCell *cells, bool is_sum)
{
    char **valid = dw_memory_new(table->count, sizeof *valid);
    const char **texts = dw_memory_new(table->count, sizeof *texts);
    for (size_t i = 0; i < table->count; i++)
        texts[i] = valid[i] = g_utf8_make_valid(cells[i].text ? cells[i].text : "", -1);
    add_rows(table, texts, cells, is_sum);
    for (size_t i = 0; i < table->count; i++)
        g_free(valid[i]);
    free(valid);
    free(texts);
}

void dw_piece_table_row(DwPaperTable *table, const DwPaperCell *cells)
{
    add_valid(table, cells, false);
}

void dw_piece_table_sum(DwPaperTable *table, const DwPaperCell *cells, bool total)
{
    table->flow->pieces[table->flow->count - 1].with_next = true;
    add_valid(table, cells, total);
}
