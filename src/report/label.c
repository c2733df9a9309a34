// SPDX-License-Identifier: MIT
// Job labels, one for each part of a deck that comes apart, with a QR code: a sheet of them to be cut, or each of the
// size that the shop's printer or sheets have. No name stands on them: they hang in the open.
#include "base/memory.h"
#include "base/text.h"
#include "chart/draw/code.h"
#include "report/papers.h"
#include "report/sentence/sentence.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    DwCode *code;
    char *number, *part, *deck, *line, *screws;
    char *warning; // what must be known before it is touched, or ""
} Label;

typedef struct {
    Label labels[2];
} LabelRow;

static const double label_height = 17; // em
static const DwLetters number_letters = {.size = 2.6, .bold = true, .ink = DW_INK_TEXT};
static const DwLetters part_letters = {.size = 1.25, .bold = true, .ink = DW_INK_TEXT};
static const DwLetters sized_number_letters = {.size = 1.9, .bold = true, .ink = DW_INK_TEXT};
static const DwLetters sized_part_letters = {.size = 1, .bold = true, .ink = DW_INK_TEXT};
static const DwLetters line_letters = {.size = 0.86, .ink = DW_INK_TEXT};

static double row_height(const void *content, const DwCanvas *canvas, double width)
{
    (void)content;
    (void)width;
    return label_height * canvas->em;
}

static void draw_label(const Label *label, const DwCanvas *canvas, DwBox box)
{
    double em = canvas->em, x = box.x + em, size = 9 * em, text_width = box.width - 2 * em;
    const double dashes[] = {0.5 * em, 0.5 * em};
    dw_canvas_use(canvas, DW_INK_QUIET);
    cairo_set_line_width(canvas->cairo, 0.06 * em);
    cairo_set_dash(canvas->cairo, dashes, 2, 0);
    cairo_rectangle(canvas->cairo, box.x, box.y, box.width, box.height);
    cairo_stroke(canvas->cairo);
    cairo_set_dash(canvas->cairo, NULL, 0, 0);
    dw_canvas_write(canvas, number_letters, x, box.y + 3.4 * em, 0, label->number);
    dw_code_draw(label->code, canvas, box.x + box.width - size, box.y, size);
    dw_canvas_paragraph(canvas, part_letters, x, box.y + 4.6 * em, text_width - size, label->part);
    double y = box.y + size + 0.4 * em;
    if (*label->warning)
        y += dw_canvas_paragraph(canvas, part_letters, x, y, text_width, label->warning) + 0.2 * em;
    y += dw_canvas_paragraph(canvas, line_letters, x, y, text_width, label->deck) + 0.2 * em;
    y += dw_canvas_paragraph(canvas, line_letters, x, y, text_width, label->line);
    dw_canvas_paragraph(canvas, line_letters, x, y, text_width, label->screws);
}

static void draw_row(const void *content, const DwCanvas *canvas, DwBox box)
{
    const LabelRow *row = content;
    for (size_t i = 0; i < 2; i++)
        draw_label(&row->labels[i], canvas,
                   (DwBox){box.x + (double)i * box.width / 2, box.y, box.width / 2, box.height});
}

static void clear_label(Label *label)
{
    dw_code_free(label->code);
    free(label->number);
    free(label->part);
    free(label->deck);
    free(label->line);
    free(label->screws);
    free(label->warning);
}

static void clear_row(void *content)
{
    LabelRow *row = content;
    for (size_t i = 0; i < 2; i++)
        clear_label(&row->labels[i]);
}

// What is unsafe stands on every part; the rest on the part that it is about.
static char *warning_of(const DwDossier *d, const char *part)
{
    static const char *const warnings[][2] = {{"unsafe", NULL}, {"altered", "deck"}, {"glass", "platter"}};
    for (size_t i = 0; i < sizeof warnings / sizeof *warnings; i++) {
        const char *of = warnings[i][1];
        if ((!of || strcmp(part, of) == 0) && dw_sentence_stands(d, "label", warnings[i][0], NULL))
            return dw_sentence(d, "label", warnings[i][0], NULL, NULL);
    }
    return dw_memory_text("");
}

// The deck's name and serial; then when it came or was booked, and where its screws are.
static void write_lines(const DwDossier *d, Label *label)
{
    char *deck = dw_dossier_deck(d), *received = dw_dossier_received(d), *booked = dw_dossier_day(d->job.opened_at);
    const char *serial = d->deck.serial ? d->deck.serial : "", *screws = d->job.screws_place;
    char *came = dw_sentence(d, "label", "line", NULL, "received", received, NULL);
    char *to_come = dw_sentence(d, "label", "line.booked", NULL, "booked", booked, NULL);
    label->deck = dw_text_format("%s%s%s", deck, *serial ? ", " : "", serial);
    label->line = dw_text_format("%s%s", came, to_come);
    label->screws = dw_sentence(d, "label", "line.screws", screws, "screws", screws, NULL);
    free(came);
    free(to_come);
    free(deck);
    free(received);
    free(booked);
}

static DwStatus fill_label(const DwDossier *d, const char *part, Label *label, DwMessage *message)
{
    char *code = dw_paper_words_fill(d->words, "label", "code", "number", d->number, NULL);
    label->code = dw_code_new(code);
    free(code);
    label->number = dw_memory_text(d->number);
    label->part = dw_memory_text(dw_dossier_say(d, "label", part));
    label->warning = warning_of(d, part);
    write_lines(d, label);
    return label->code ? DW_OK
                       : dw_fail(message, DW_BAD_INPUT,
                                 "The label's code is empty or too long for a QR code. Change "
                                 "code in [label] of the words.");
}

// Labels of one size, as many in a row as the page is wide.
typedef struct {
    Label *labels;
    size_t count;
    double width, height; // of each [points]
} SizedRow;

static double sized_height(const void *content, const DwCanvas *canvas, double width)
{
    (void)canvas;
    (void)width;
    return ((const SizedRow *)content)->height;
}

// What stands on every label whatever its size, drawn or (with DRAW false) measured. Returned: its height.
static double run_head(const Label *label, const DwCanvas *canvas, double x, double y, double width, bool draw)
{
    const struct {
        DwLetters letters;
        const char *text;
    } lines[] = {
        {sized_number_letters, label->number}, {sized_part_letters, label->part}, {sized_part_letters, label->warning}};
    double top = y;
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++)
        if (*lines[i].text && draw)
            y += dw_canvas_paragraph(canvas, lines[i].letters, x, y, width, lines[i].text);
        else if (*lines[i].text)
            y += dw_canvas_paragraph_height(canvas, lines[i].letters, width, lines[i].text);
    return y - top;
}

// The code at the left, as high as the label; what is written at its right, in letters that let a warning be whole.
static void draw_sized(const Label *label, const DwCanvas *canvas, DwBox box)
{
    const double edge = 1.5 * 72 / 25.4; // what a printer may leave out
    const double most = 12, least = 4;   // points
    DwCanvas small = *canvas;
    small.em = fmin(fmin(box.height / 7.5, box.width / 22), most);
    double room = box.height - 2 * edge, code = fmin(room, 0.4 * box.width), x = box.x + edge + code + 0.5 * small.em;
    double width = box.x + box.width - edge - x, y = box.y + edge;
    while (small.em > least && run_head(label, &small, x, y, width, false) > room)
        small.em *= 0.95;
    dw_code_draw(label->code, &small, box.x + edge, y, code);
    y += run_head(label, &small, x, y, width, true) + 0.15 * small.em;
    const char *const lines[] = {label->deck, label->line, label->screws};
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        double height = dw_canvas_paragraph_height(&small, line_letters, width, lines[i]);
        if (*lines[i] && y + height <= box.y + box.height - edge)
            y += dw_canvas_paragraph(&small, line_letters, x, y, width, lines[i]);
    }
}

static void draw_sized_row(const void *content, const DwCanvas *canvas, DwBox box)
{
    const SizedRow *row = content;
    for (size_t i = 0; i < row->count; i++)
        draw_sized(&row->labels[i], canvas, (DwBox){box.x + (double)i * row->width, box.y, row->width, row->height});
}

static void clear_sized_row(void *content)
{
    SizedRow *row = content;
    for (size_t i = 0; i < row->count; i++)
        clear_label(&row->labels[i]);
    free(row->labels);
}

static const char *const parts[] = {"deck", "platter", "cover", "arm", "screws", "old_parts"};
enum { PARTS = sizeof parts / sizeof *parts };

static DwStatus add_sized(DwDossier *d, DwMessage *message)
{
    static const DwPieceKind kind = {sized_height, draw_sized_row, clear_sized_row, NULL};
    const double points = 72 / 25.4;
    double width = d->label->width_mm * points, height = d->label->height_mm * points;
    size_t across = d->flow->width < width ? 1 : (size_t)floor(d->flow->width / width + 1e-6);
    for (size_t from = 0; from < PARTS; from += across) {
        SizedRow *row = dw_flow_add(d->flow, &kind, sizeof(SizedRow), 0)->content;
        *row = (SizedRow){dw_memory_new(across, sizeof *row->labels), 0, width, height};
        for (; row->count < across && from + row->count < PARTS; row->count++) {
            DwStatus status = fill_label(d, parts[from + row->count], &row->labels[row->count], message);
            if (status != DW_OK)
                return status;
        }
    }
    return DW_OK;
}

DwStatus dw_paper_label(DwDossier *d, DwMessage *message)
{
    if (d->label)
        return add_sized(d, message);
    static const DwPieceKind kind = {row_height, draw_row, clear_row, NULL};
    DwStatus status = DW_OK;
    for (size_t row = 0; row < 3 && status == DW_OK; row++) {
        LabelRow *labels = dw_flow_add(d->flow, &kind, sizeof(LabelRow), 0)->content;
        for (size_t i = 0; i < 2 && status == DW_OK; i++)
            status = fill_label(d, parts[2 * row + i], &labels->labels[i], message);
    }
    return status;
}
