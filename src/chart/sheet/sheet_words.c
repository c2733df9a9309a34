// SPDX-License-Identifier: MIT
#include "chart/sheet/sheet_words.h"

#include "base/memory.h"
#include "base/quantity.h"
#include "base/text.h"
#include "base/tongue.h"
#include "chart/sheet/describe.h"
#include "chart/draw/mark.h"
#include "chart/draw/number.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const DwLetters title_letters = {.size = 1.7, .bold = true, .ink = DW_INK_TEXT};
static const DwLetters verdict_letters = {.size = 1.35, .bold = true, .ink = DW_INK_TEXT};
static const DwLetters body = {.size = 1.0, .ink = DW_INK_TEXT};
static const DwLetters bold = {.size = 1.0, .bold = true, .ink = DW_INK_TEXT};
static const DwLetters quiet = {.size = 0.9, .ink = DW_INK_QUIET};

static const double box_margin = 0.8;  // em, within a caution's box
static const double word_column = 5.0; // em, at least; a language's longer word has its width

// What was given for INPUT: a number, or two with a colon between, as the reader writes numbers, or a word. The caller
// frees it with free().
static char *input_text(const DwSheetInput *input)
{
    const DwQuantity *quantity = dw_quantity_find(input->key);
    if (!quantity || (quantity->kind != DW_QUANTITY_NUMBER && quantity->kind != DW_QUANTITY_PAIR))
        return dw_memory_text(dw_said(input->text));
    DwText text = {0};
    size_t whole = strcspn(input->text, ".");
    dw_text_add(&text, "%.*s", (int)whole, input->text);
    for (const char *at = input->text + whole; *at; at += whole) {
        whole = 1 + strcspn(at + 1, ".");
        dw_text_add(&text, "%s%.*s", dw_number_mark(), (int)whole - 1, at + 1);
    }
    return dw_text_take(&text);
}

// "Speed 33.33 rpm · Record band tone …": only what was given, since a preset says nothing of this deck.
static char *inputs_line(const DwSheet *sheet)
{
    DwText text = {0};
    for (size_t i = 0; i < sheet->input_count; i++) {
        const DwSheetInput *input = &sheet->inputs[i];
        if (!input->given)
            continue;
        char *given = input_text(input);
        dw_text_add(&text, "%s%s: %s%s%s", text.length > 0 ? "  ·  " : "", dw_said_label(input->label), given,
                    dw_number_space(input->unit), dw_number_unit(input->unit));
        free(given);
    }
    return dw_text_take(&text);
}

// How far from the margin the text of a caution begins.
static double caution_column(const DwCanvas *canvas)
{
    return fmax(word_column * canvas->em, dw_canvas_width(canvas, bold, dw_said("Caution")) + canvas->em);
}

static const char pair_line[] = "Hollow and dashed: as received. Filled and solid: as left.";

static double title_width(const DwCanvas *canvas, const DwSheet *sheet, double width)
{
    double verdict = dw_mark_word_width(canvas, dw_sheet_worst_verdict(sheet), verdict_letters);
    return fmax(8 * canvas->em, width - verdict - 1.5 * canvas->em);
}

double dw_sheet_words_head_height(const DwCanvas *canvas, const DwSheet *sheet, const DwSheet *before, double width)
{
    double height = dw_canvas_paragraph_height(canvas, title_letters, title_width(canvas, sheet, width),
                                               dw_said_label(sheet->title));
    char *inputs = inputs_line(sheet);
    if (sheet->subject[0])
        height += dw_canvas_paragraph_height(canvas, quiet, width, sheet->subject) + 0.3 * canvas->em;
    if (inputs[0])
        height += dw_canvas_paragraph_height(canvas, quiet, width, inputs) + 0.3 * canvas->em;
    if (before)
        height += dw_canvas_paragraph_height(canvas, quiet, width, dw_said(pair_line)) + 0.3 * canvas->em;
    free(inputs);
    return height + 2.4 * canvas->em;
}

void dw_sheet_words_draw_head(const DwCanvas *canvas, const DwSheet *sheet, const DwSheet *before, DwBox box)
{
    double em = canvas->em, y = box.y;
    y += dw_canvas_paragraph(canvas, title_letters, box.x, y, title_width(canvas, sheet, box.width),
                             dw_said_label(sheet->title));
    dw_mark_draw_with_word(canvas, dw_sheet_worst_verdict(sheet), box.x + box.width, box.y + 1.6 * em, verdict_letters);
    char *inputs = inputs_line(sheet);
    const char *const lines[] = {sheet->subject, inputs, before ? dw_said(pair_line) : ""};
    for (size_t i = 0; i < 3; i++)
        if (lines[i][0])
            y += 0.3 * em + dw_canvas_paragraph(canvas, quiet, box.x, y + 0.3 * em, box.width, lines[i]);
    free(inputs);
    dw_canvas_use(canvas, DW_INK_LINE);
    cairo_rectangle(canvas->cairo, box.x, y + 0.8 * em, box.width, 0.1 * em);
    cairo_fill(canvas->cairo);
}

double dw_sheet_words_caution_height(const DwCanvas *canvas, const DwSaying *caution, double width)
{
    double em = canvas->em, inner = width - 2 * box_margin * em - caution_column(canvas);
    char *said = dw_say_saying(caution);
    double height = dw_canvas_paragraph_height(canvas, body, inner, said) + (2 * box_margin + 0.8) * em;
    free(said);
    return height;
}

void dw_sheet_words_draw_caution(const DwCanvas *canvas, const DwSaying *caution, DwBox box)
{
    double em = canvas->em, margin = box_margin * em, column = caution_column(canvas);
    char *said = dw_say_saying(caution);
    dw_canvas_use(canvas, DW_INK_ATTENTION);
    cairo_set_line_width(canvas->cairo, 0.12 * em);
    cairo_rectangle(canvas->cairo, box.x + 0.06 * em, box.y + 0.06 * em, box.width - 0.12 * em, box.height - 0.8 * em);
    cairo_stroke(canvas->cairo);
    dw_canvas_paragraph(canvas, bold, box.x + margin, box.y + margin, column, dw_said("Caution"));
    dw_canvas_paragraph(canvas, body, box.x + margin + column, box.y + margin, box.width - 2 * margin - column, said);
    free(said);
}

// TEXT, in whatever language, with the names of quantities for their keys.
static double line_height(const DwCanvas *canvas, const char *text, double width)
{
    char *words = dw_quantity_words(text);
    double height = dw_canvas_paragraph_height(canvas, body, width, words) + 0.5 * canvas->em;
    free(words);
    return height;
}

static void draw_line(const DwCanvas *canvas, const char *text, DwBox box)
{
    char *words = dw_quantity_words(text);
    dw_canvas_paragraph(canvas, body, box.x, box.y, box.width, words);
    free(words);
}

double dw_sheet_words_remark_height(const DwCanvas *canvas, const DwSaying *remark, double width)
{
    char *said = dw_say_saying(remark);
    double height = line_height(canvas, said, width);
    free(said);
    return height;
}

void dw_sheet_words_draw_remark(const DwCanvas *canvas, const DwSaying *remark, DwBox box)
{
    char *said = dw_say_saying(remark);
    draw_line(canvas, said, box);
    free(said);
}

// "Eccentricity of the record: record.radius was not given".
static char *missing_line(const DwNotMeasured *missing)
{
    char *name = dw_sheet_missing_name(missing->key), *reason = dw_say_saying(&missing->reason);
    char *line = dw_text_format("%s: %s", dw_said_label(name), reason);
    free(name);
    free(reason);
    return line;
}

double dw_sheet_words_missing_height(const DwCanvas *canvas, const DwNotMeasured *missing, double width)
{
    char *line = missing_line(missing);
    double height = line_height(canvas, line, width);
    free(line);
    return height;
}

void dw_sheet_words_draw_missing(const DwCanvas *canvas, const DwNotMeasured *missing, DwBox box)
{
    char *line = missing_line(missing);
    draw_line(canvas, line, box);
    free(line);
}

char *dw_sheet_words_raster_title(const DwChartWords *words, const DwRaster *raster, bool is_pair, bool of_before)
{
    return is_pair ? dw_text_format("%s, %s", dw_said_label(raster->label),
                                    dw_chart_words_say(words, of_before ? "received" : "left"))
                   : dw_memory_text(dw_said_label(raster->label));
}

char *dw_sheet_words_raster_caption(const DwChartWords *words, const DwRaster *raster, double end)
{
    char *sentence = dw_describe_raster_in(words, raster);
    size_t beyond = 0;
    for (size_t i = 0; i < raster->rows * raster->columns; i++)
        beyond += fabs((double)raster->values[i]) > end;
    char *caption = dw_text_format("%s %s%s%s", sentence, dw_chart_words_say(words, "raster.newest"),
                                   beyond > 0 ? " " : "", beyond > 0 ? dw_chart_words_say(words, "raster.beyond") : "");
    free(sentence);
    return caption;
}
