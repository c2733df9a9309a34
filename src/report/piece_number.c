// SPDX-License-Identifier: MIT
// The numbers of page one: each with a plain name, its mark on the allowed
// range, before and after, and what it means to a listener.
#include "report/piece.h"

#include "base/memory.h"
#include "base/text.h"
#include "chart/draw/mark.h"
#include "chart/draw/number.h"

#include <math.h>
#include <stdlib.h>

enum { DIGITS_MOST = 2 };

typedef struct {
    char *name, *sentence, *now, *then;
    DwReading reading;       // with fewer decimals than a table shows; its text is the owner's
    const DwReading *before; // NULL without one
} Number;

typedef struct {
    Number numbers[2];
    size_t count;
} Numbers;

static const DwLetters name_letters = {.size = 1, .bold = true, .ink = DW_INK_TEXT};
static const DwLetters verdict_letters = {.size = 0.9, .ink = DW_INK_TEXT};
static const DwLetters figure_letters = {.size = 1.5, .bold = true, .ink = DW_INK_TEXT};
static const DwLetters quiet = {.size = 0.86, .ink = DW_INK_QUIET};
static const DwLetters sentence_letters = {.size = 0.92, .ink = DW_INK_TEXT};
static const double gap = 1.8; // em, between two numbers

static double number_width(const DwCanvas *canvas, double width)
{
    return (width - gap * canvas->em) / 2;
}

static bool has_rule(const Number *number)
{
    return number->reading.limit || number->before;
}

// What is left of the first line for the name, beside the verdict.
static double name_width(const Number *number, const DwCanvas *canvas, double width)
{
    return width - dw_mark_word_width(canvas, number->reading.verdict, verdict_letters) - 0.5 * canvas->em;
}

// How much a name of more than one line takes above the rest.
static double name_more(const Number *number, const DwCanvas *canvas, double width)
{
    double room = name_width(number, canvas, width);
    return dw_canvas_paragraph_height(canvas, name_letters, room, number->name) -
           dw_canvas_paragraph_height(canvas, name_letters, room, "x");
}

// The figure stands on one line; the rule and its numbers below it.
static double above_sentence(const Number *number, const DwCanvas *canvas, double width)
{
    double more = name_more(number, canvas, width);
    return (has_rule(number) ? number->reading.limit ? 5.3 : 4.1 : 3.1) * canvas->em + more;
}

static double numbers_height(const void *content, const DwCanvas *canvas, double width)
{
    const Numbers *numbers = content;
    double height = 0;
    for (size_t i = 0; i < numbers->count; i++)
        height = fmax(height, above_sentence(&numbers->numbers[i], canvas, number_width(canvas, width)) +
                                  dw_canvas_paragraph_height(canvas, sentence_letters, number_width(canvas, width),
                                                             numbers->numbers[i].sentence));
    return height;
}

static void write_value(DwText *text, double value, const DwReading *reading)
{
    DwNumber number = dw_number_print(value, reading->digits, dw_number_signed(reading));
    dw_text_add(text, "%s%s%s", number.text, dw_number_space(reading->unit), dw_number_unit(reading->unit));
}

static void draw_figure(const Number *number, const DwCanvas *canvas, double x, double y, double width)
{
    DwText now = {0}, then = {0};
    write_value(&now, number->reading.value, &number->reading);
    dw_canvas_write(canvas, figure_letters, x, y, 0, now.chars);
    double end = x + dw_canvas_width(canvas, figure_letters, now.chars) + 0.5 * canvas->em;
    double then_width = 0;
    if (number->before) {
        dw_text_add(&then, "%s ", number->then);
        write_value(&then, number->before->value, &number->reading);
        dw_canvas_write(canvas, quiet, x + width, y, 1, then.chars);
        then_width = dw_canvas_width(canvas, quiet, then.chars) + 0.5 * canvas->em;
    }
    // The key below says which mark is which; here it is said again where there is room.
    if (end + dw_canvas_width(canvas, quiet, number->now) + then_width <= x + width)
        dw_canvas_write(canvas, quiet, end, y, 0, number->now);
    dw_text_clear(&now);
    dw_text_clear(&then);
}

static void draw_number(const Number *number, const DwCanvas *canvas, double x, double y, double width)
{
    double em = canvas->em, right = x + width, sentence = y + above_sentence(number, canvas, width);
    dw_mark_draw_with_word(canvas, number->reading.verdict, right, y + 0.95 * em, verdict_letters);
    dw_canvas_paragraph(canvas, name_letters, x, y + 0.95 * em - dw_canvas_baseline(canvas, name_letters),
                        name_width(number, canvas, width), number->name);
    y += name_more(number, canvas, width);
    draw_figure(number, canvas, x, y + 2.65 * em, width);
    if (has_rule(number))
        dw_mark_draw_range(canvas, &number->reading, number->before ? number->before->value : NAN, x, y + 3.6 * em,
                           width);
    dw_canvas_paragraph(canvas, sentence_letters, x, sentence, width, number->sentence);
}

static void draw_numbers(const void *content, const DwCanvas *canvas, DwBox box)
{
    const Numbers *numbers = content;
    double width = number_width(canvas, box.width);
    for (size_t i = 0; i < numbers->count; i++)
        draw_number(&numbers->numbers[i], canvas, box.x + (double)i * (width + gap * canvas->em), box.y, width);
}

static void clear_numbers(void *content)
{
    Numbers *numbers = content;
    for (size_t i = 0; i < numbers->count; i++) {
        free(numbers->numbers[i].name);
        free(numbers->numbers[i].sentence);
        free(numbers->numbers[i].now);
        free(numbers->numbers[i].then);
    }
}

void dw_piece_numbers(DwFlow *flow, const DwPieceNumber *given, size_t count)
{
    static const DwPieceKind kind = {numbers_height, draw_numbers, clear_numbers, NULL};
    Numbers *numbers = dw_flow_add(flow, &kind, sizeof(Numbers), 0.8)->content;
    numbers->count = count;
    for (size_t i = 0; i < count; i++) {
        numbers->numbers[i] = (Number){dw_memory_text(given[i].name),
                                       dw_memory_text(given[i].sentence),
                                       dw_memory_text(given[i].now_word),
                                       dw_memory_text(given[i].before_word),
                                       *given[i].reading,
                                       given[i].before};
        if (numbers->numbers[i].reading.digits > DIGITS_MOST)
            numbers->numbers[i].reading.digits = DIGITS_MOST;
    }
}
