// SPDX-License-Identifier: MIT
#include "chart/draw/mark.h"

#include "base/memory.h"
#include "base/text.h"
#include "chart/draw/number.h"

#include <math.h>
#include <stdlib.h>

// A regular polygon of SIDES corners, the first at ANGLE.
static void polygon(cairo_t *cairo, double x, double y, double radius, int sides, double angle)
{
    cairo_new_path(cairo);
    for (int i = 0; i < sides; i++) {
        double at = angle + 2 * M_PI * i / sides;
        cairo_line_to(cairo, x + radius * cos(at), y + radius * sin(at));
    }
    cairo_close_path(cairo);
}

static void disc(cairo_t *cairo, double x, double y, double radius)
{
    cairo_new_path(cairo);
    cairo_arc(cairo, x, y, radius, 0, 2 * M_PI);
}

void dw_mark_draw(const DwCanvas *canvas, DwVerdict verdict, double x, double y, double size)
{
    cairo_t *cairo = canvas->cairo;
    double radius = size / 2;
    dw_canvas_use(canvas, dw_theme_verdict_ink(verdict));
    switch (verdict) {
    case DW_VERDICT_NONE:
        return;
    case DW_VERDICT_GOOD:
        disc(cairo, x, y, radius);
        break;
    case DW_VERDICT_SERVICEABLE:
        disc(cairo, x, y, 0.78 * radius);
        cairo_set_line_width(cairo, 0.44 * radius);
        cairo_stroke(cairo);
        return;
    case DW_VERDICT_CANNOT_TELL: // one side or the other
        cairo_new_path(cairo);
        cairo_rectangle(cairo, x - radius, y - radius, 0.52 * radius, size);
        cairo_rectangle(cairo, x + 0.48 * radius, y - radius, 0.52 * radius, size);
        break;
    case DW_VERDICT_ATTENTION:
        polygon(cairo, x, y + 0.16 * radius, 1.16 * radius, 3, -M_PI_2);
        break;
    case DW_VERDICT_REPLACE:
        polygon(cairo, x, y, 1.24 * radius, 4, M_PI_4);
        break;
    case DW_VERDICT_UNSAFE:
        polygon(cairo, x, y, 1.08 * radius, 8, M_PI / 8);
        break;
    case DW_VERDICT_NOT_TESTED:
        cairo_new_path(cairo);
        cairo_rectangle(cairo, x - radius, y - 0.2 * radius, size, 0.4 * radius);
        break;
    }
    cairo_fill(cairo);
}

// The verdict's word with a capital; the caller frees it with free().
static char *verdict_text(const DwCanvas *canvas, DwVerdict verdict)
{
    char *word = dw_memory_text(dw_chart_words_verdict(canvas->words, verdict));
    dw_text_begin_sentence(word);
    return word;
}

double dw_mark_word_width(const DwCanvas *canvas, DwVerdict verdict, DwLetters letters)
{
    if (verdict == DW_VERDICT_NONE)
        return 0;
    char *word = verdict_text(canvas, verdict);
    double width = dw_canvas_width(canvas, letters, word) + 1.3 * letters.size * canvas->em;
    free(word);
    return width;
}

double dw_mark_draw_with_word(const DwCanvas *canvas, DwVerdict verdict, double right, double y, DwLetters letters)
{
    if (verdict == DW_VERDICT_NONE)
        return right;
    char *word = verdict_text(canvas, verdict);
    double letter = letters.size * canvas->em;
    dw_canvas_write(canvas, letters, right, y, 1, word);
    free(word);
    double left = right - dw_mark_word_width(canvas, verdict, letters);
    dw_mark_draw(canvas, verdict, left + 0.45 * letter, y - 0.36 * letter, 0.85 * letter);
    return left;
}

DwScale dw_mark_range_scale(const DwReading *reading, double before, double from, double to)
{
    DwRange range = dw_scale_widen(dw_scale_nothing(), reading->value);
    range = dw_scale_widen(range, before);
    range = dw_scale_widen(range, reading->value - reading->uncertainty);
    range = dw_scale_widen(range, reading->value + reading->uncertainty);
    const DwLimit *limit = reading->limit;
    bool from_zero = false;
    if (limit) {
        range = dw_scale_widen(dw_scale_widen(range, limit->low), limit->high);
        range = dw_scale_widen(dw_scale_widen(range, limit->good_low), limit->good_high);
        // What may only be too large is read from zero.
        from_zero = isnan(limit->low) && range.low >= 0;
    }
    if (from_zero)
        range.low = 0;
    DwScale scale = dw_scale_linear(range, 0.14, from, to);
    if (from_zero && scale.low < 0)
        scale.low = 0;
    return scale;
}

// A thick piece of the rule from LOW to HIGH; an open end runs on to the rule's end.
static void thicken(const DwCanvas *canvas, const DwScale *scale, double low, double high, double y, double thick)
{
    double left = isnan(low) ? scale->from : fmax(scale->from, dw_scale_place(scale, low));
    double right = isnan(high) ? scale->to : fmin(scale->to, dw_scale_place(scale, high));
    cairo_rectangle(canvas->cairo, left, y - thick / 2, right - left, thick);
    cairo_fill(canvas->cairo);
}

static void draw_whisker(const DwCanvas *canvas, const DwScale *scale, const DwReading *reading, double y)
{
    if (!(reading->uncertainty > 0))
        return;
    double cap = 0.34 * canvas->em;
    cairo_t *cairo = canvas->cairo;
    dw_canvas_use(canvas, DW_INK_TEXT);
    cairo_set_line_width(cairo, 0.08 * canvas->em);
    double left = dw_scale_place(scale, reading->value - reading->uncertainty);
    double right = dw_scale_place(scale, reading->value + reading->uncertainty);
    cairo_move_to(cairo, left, y);
    cairo_line_to(cairo, right, y);
    cairo_move_to(cairo, left, y - cap);
    cairo_line_to(cairo, left, y + cap);
    cairo_move_to(cairo, right, y - cap);
    cairo_line_to(cairo, right, y + cap);
    cairo_stroke(cairo);
}

// A halo of the ground keeps the mark apart from the bar below it.
static void draw_value(const DwCanvas *canvas, double x, double y, bool hollow)
{
    double radius = 0.42 * canvas->em;
    cairo_t *cairo = canvas->cairo;
    dw_canvas_use(canvas, DW_INK_GROUND);
    disc(cairo, x, y, radius + 0.14 * canvas->em);
    cairo_fill(cairo);
    dw_canvas_use(canvas, DW_INK_TEXT);
    disc(cairo, x, y, hollow ? radius - 0.07 * canvas->em : radius);
    if (!hollow) {
        cairo_fill(cairo);
        return;
    }
    cairo_set_line_width(cairo, 0.14 * canvas->em);
    cairo_stroke(cairo);
}

// The numbers at the ends of the allowed range, held within the rule and apart.
static void write_limits(const DwCanvas *canvas, const DwScale *scale, const DwReading *reading, double y)
{
    DwLetters letters = {.size = 0.8, .ink = DW_INK_QUIET};
    const DwLimit *limit = reading->limit;
    bool is_signed = limit->low < 0;
    double free_from = scale->from;
    const double ends[] = {limit->low, limit->high};
    for (size_t i = 0; i < 2; i++) {
        if (isnan(ends[i]))
            continue;
        DwNumber number = dw_number_print(ends[i], reading->digits, is_signed);
        double width = dw_canvas_width(canvas, letters, number.text);
        double left = fmin(dw_scale_place(scale, ends[i]) - width / 2, scale->to - width);
        left = fmax(left, free_from);
        if (left + width > scale->to + 0.01 * canvas->em)
            continue;
        dw_canvas_write(canvas, letters, left, y, 0, number.text);
        free_from = left + width + 0.5 * canvas->em;
    }
}

void dw_mark_draw_range(const DwCanvas *canvas, const DwReading *reading, double before, double x, double y,
                        double width)
{
    DwScale scale = dw_mark_range_scale(reading, before, x, x + width);
    dw_canvas_use(canvas, DW_INK_QUIET);
    cairo_rectangle(canvas->cairo, x, y - 0.04 * canvas->em, width, 0.08 * canvas->em);
    cairo_fill(canvas->cairo);
    const DwLimit *limit = reading->limit;
    if (limit) {
        bool has_good = !isnan(limit->good_low) || !isnan(limit->good_high);
        dw_canvas_use(canvas, has_good ? DW_INK_QUIET : DW_INK_ACCENT);
        thicken(canvas, &scale, limit->low, limit->high, y, 0.3 * canvas->em);
        dw_canvas_use(canvas, DW_INK_ACCENT);
        if (has_good)
            thicken(canvas, &scale, limit->good_low, limit->good_high, y, 0.5 * canvas->em);
        write_limits(canvas, &scale, reading, y + 1.4 * canvas->em);
    }
    if (isfinite(before))
        draw_value(canvas, dw_scale_place(&scale, before), y, true);
    if (isfinite(reading->value)) {
        draw_value(canvas, dw_scale_place(&scale, reading->value), y, false);
        draw_whisker(canvas, &scale, reading, y);
    }
}
