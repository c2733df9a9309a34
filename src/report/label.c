// SPDX-License-Identifier: MIT
// Job labels: a sheet of them to be cut, one for each part of a deck that comes
// apart, with a QR code. No name stands on them: they hang in the open.
#include "base/memory.h"
#include "base/text.h"
#include "chart/draw/code.h"
#include "report/papers.h"
#include "report/sentence/sentence.h"

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

static void clear_row(void *content)
{
    LabelRow *row = content;
    for (size_t i = 0; i < 2; i++) {
        Label *label = &row->labels[i];
        dw_code_free(label->code);
        free(label->number);
        free(label->part);
        free(label->deck);
        free(label->line);
        free(label->screws);
        free(label->warning);
    }
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

DwStatus dw_paper_label(DwDossier *d, DwMessage *message)
{
    static const DwPieceKind kind = {row_height, draw_row, clear_row, NULL};
    static const char *const parts[][2] = {{"deck", "platter"}, {"cover", "arm"}, {"screws", "old_parts"}};
    DwStatus status = DW_OK;
    for (size_t row = 0; row < 3 && status == DW_OK; row++) {
        LabelRow *labels = dw_flow_add(d->flow, &kind, sizeof(LabelRow), 0)->content;
        for (size_t i = 0; i < 2 && status == DW_OK; i++)
            status = fill_label(d, parts[row][i], &labels->labels[i], message);
    }
    return status;
}
