// SPDX-License-Identifier: MIT
#include "chart/draw/band_strip.h"

#include "base/text.h"
#include "base/tongue.h"
#include "chart/draw/mark.h"
#include "chart/draw/number.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { BAND, KIND, CHANNEL, START, END, VERDICT, CONTENT, COLUMNS, STEPS = 4 };

static const char *const keys[COLUMNS] = {"band", "kind", "channel", "start", "end", "verdict", "content"};

// Heights in em, from the top: numbers, bands, channels, marks, axis.
static const double numbers = 1.3, bands = 2.6, channels = 1.2, marks = 1.3, axis = 1.9;
static const double gap_share = 0.15; // of a band's height, between the bars of two tones
static const DwLetters small = {.size = 0.75, .ink = DW_INK_QUIET}, number_letters = {.size = 0.85, .ink = DW_INK_TEXT};

typedef struct {
    const DwTable *table;
    size_t column[COLUMNS];
    double end_s;
} Strip;

static bool find_columns(const DwTable *table, Strip *strip)
{
    *strip = (Strip){.table = table};
    for (size_t k = 0; k < COLUMNS; k++) {
        size_t c = 0;
        while (c < table->column_count && strcmp(table->columns[c].key, keys[k]) != 0)
            c++;
        if (c == table->column_count && k != CONTENT)
            return false;
        strip->column[k] = c;
    }
    for (size_t row = 0; row < table->row_count; row++)
        strip->end_s = fmax(strip->end_s, dw_table_cell(table, row, strip->column[END])->number);
    return true;
}

bool dw_band_strip_fits(const DwTable *table)
{
    Strip strip;
    return find_columns(table, &strip) && strip.end_s > 0;
}

double dw_band_strip_height(const DwCanvas *canvas)
{
    return (numbers + bands + channels + marks + axis) * canvas->em;
}

static double number_in(const Strip *strip, size_t row, size_t key)
{
    return dw_table_cell(strip->table, row, strip->column[key])->number;
}

static const char *word_in(const Strip *strip, size_t row, size_t key)
{
    bool there = strip->column[key] < strip->table->column_count;
    const char *word = there ? dw_table_cell(strip->table, row, strip->column[key])->word : NULL;
    return word ? word : "";
}

static void fill(const DwCanvas *canvas)
{
    dw_canvas_use_thin(canvas, DW_INK_ACCENT, 0.35);
    cairo_fill_preserve(canvas->cairo);
    dw_canvas_use(canvas, DW_INK_ACCENT);
    cairo_stroke(canvas->cairo);
}

// The frequency that TEXT begins with ("25 Hz", "16 kHz"); *END is behind its number.
static double frequency_of(const char *text, char **end)
{
    double number = strtod(text, end);
    return number * (strncmp(*end, " kHz", 4) == 0 ? 1000 : 1);
}

// Whether CONTENT ("25 Hz to 4 Hz") goes down.
static bool falls(const char *content)
{
    char *end;
    double from = frequency_of(content, &end);
    const char *to = strstr(end, " to ");
    return to && frequency_of(to + 4, &end) < from;
}

// A wedge that is high where the sweep is.
static void draw_wedge(const DwCanvas *canvas, DwBox box, bool falling)
{
    cairo_move_to(canvas->cairo, box.x, box.y + box.height);
    cairo_line_to(canvas->cairo, falling ? box.x : box.x + box.width, box.y);
    cairo_line_to(canvas->cairo, box.x + box.width, box.y + box.height);
    cairo_close_path(canvas->cairo);
    fill(canvas);
}

static void draw_stairs(const DwCanvas *canvas, DwBox box)
{
    cairo_move_to(canvas->cairo, box.x, box.y + box.height);
    for (int i = 0; i < STEPS; i++) {
        double y = box.y + box.height * (STEPS - 1 - i) / STEPS;
        cairo_line_to(canvas->cairo, box.x + box.width * i / STEPS, y);
        cairo_line_to(canvas->cairo, box.x + box.width * (i + 1) / STEPS, y);
    }
    cairo_line_to(canvas->cairo, box.x + box.width, box.y + box.height);
    cairo_close_path(canvas->cairo);
    fill(canvas);
}

static void draw_band(const DwCanvas *canvas, const char *kind, bool falling, DwBox box)
{
    cairo_t *cairo = canvas->cairo;
    cairo_set_line_width(cairo, canvas->em * 0.07);
    if (strcmp(kind, "sweep") == 0)
        draw_wedge(canvas, box, falling);
    else if (strcmp(kind, "steps") == 0)
        draw_stairs(canvas, box);
    else if (strcmp(kind, "two-tone") == 0) {
        double bar = box.height * (1 - gap_share) / 2;
        cairo_rectangle(cairo, box.x, box.y, box.width, bar);
        cairo_rectangle(cairo, box.x, box.y + box.height - bar, box.width, bar);
        fill(canvas);
    } else {
        cairo_rectangle(cairo, box.x, box.y, box.width, box.height);
        if (strcmp(kind, "silence") == 0) {
            dw_canvas_use(canvas, DW_INK_ACCENT);
            cairo_stroke(cairo);
        } else
            fill(canvas);
    }
}

// Words are too wide for a short band.
static const char *channel_sign(const char *channel)
{
    static const char *const signs[][2] = {{"left", "L"}, {"right", "R"}, {"lateral", "L+R"}, {"vertical", "L−R"}};
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++)
        if (strcmp(channel, signs[i][0]) == 0)
            return signs[i][1];
    return "";
}

static bool is_found(const Strip *strip, size_t row)
{
    return strcmp(word_in(strip, row, VERDICT), "found") == 0;
}

// Writes TEXT in the middle of the band unless it would meet what was written before.
static void write_in(const DwCanvas *canvas, DwLetters letters, DwBox box, double y, const char *text, double *taken)
{
    double width = dw_canvas_width(canvas, letters, text), left = box.x + (box.width - width) / 2;
    if (left < *taken)
        return;
    dw_canvas_write(canvas, letters, left, y, 0, text);
    *taken = left + width + 0.3 * canvas->em;
}

static void draw_bands(const DwCanvas *canvas, const Strip *strip, const DwVerdict *verdicts, DwBox box)
{
    double scale = box.width / strip->end_s, taken[2] = {box.x, box.x};
    for (size_t row = 0; row < strip->table->row_count; row++) {
        double start_s = number_in(strip, row, START), end_s = number_in(strip, row, END);
        if (isnan(start_s) || isnan(end_s))
            continue;
        DwBox own = {box.x + start_s * scale, box.y + numbers * canvas->em, (end_s - start_s) * scale,
                     bands * canvas->em};
        draw_band(canvas, word_in(strip, row, KIND), falls(word_in(strip, row, CONTENT)), own);
        DwNumber number = dw_number_print(number_in(strip, row, BAND), 0, false);
        write_in(canvas, number_letters, own, own.y - 0.35 * canvas->em, number.text, &taken[0]);
        write_in(canvas, small, own, own.y + own.height + 0.95 * canvas->em, channel_sign(word_in(strip, row, CHANNEL)),
                 &taken[1]);
        DwVerdict verdict = verdicts ? verdicts[row] : DW_VERDICT_NONE;
        if (!is_found(strip, row) && verdict < DW_VERDICT_ATTENTION)
            verdict = DW_VERDICT_ATTENTION;
        if (verdict != DW_VERDICT_NONE)
            dw_mark_draw(canvas, verdict, own.x + own.width / 2, own.y + own.height + (channels + 0.6) * canvas->em,
                         0.9 * canvas->em);
    }
}

// Round minutes or parts of one, about eight of them.
static double axis_step_s(double end_s)
{
    static const double steps[] = {10, 30, 60, 120, 300, 600};
    size_t i = 0;
    while (i + 1 < sizeof steps / sizeof *steps && end_s / steps[i] > 9)
        i++;
    return steps[i];
}

static void draw_axis(const DwCanvas *canvas, const Strip *strip, DwBox box)
{
    double step = axis_step_s(strip->end_s), scale = box.width / strip->end_s;
    double y = box.y + (numbers + bands + channels + marks) * canvas->em;
    dw_canvas_use(canvas, DW_INK_LINE);
    cairo_set_line_width(canvas->cairo, canvas->em * 0.06);
    cairo_move_to(canvas->cairo, box.x, y);
    cairo_line_to(canvas->cairo, box.x + box.width, y);
    cairo_stroke(canvas->cairo);
    for (double at = 0; at <= strip->end_s; at += step) {
        DwNumber number = dw_number_print(step < 60 ? at : at / 60, 0, false);
        char *text = dw_text_format("%s%s", number.text, at > 0 ? "" : step < 60 ? " s" : " min");
        dw_canvas_use(canvas, DW_INK_LINE);
        cairo_move_to(canvas->cairo, box.x + at * scale, y);
        cairo_line_to(canvas->cairo, box.x + at * scale, y + 0.3 * canvas->em);
        cairo_stroke(canvas->cairo);
        dw_canvas_write(canvas, small, box.x + at * scale, y + 1.25 * canvas->em, at > 0 ? 0.5 : 0, text);
        free(text);
    }
}

void dw_band_strip_draw(const DwCanvas *canvas, const DwTable *table, const DwVerdict *verdicts, DwBox box)
{
    Strip strip;
    if (!find_columns(table, &strip) || !(strip.end_s > 0))
        return;
    draw_bands(canvas, &strip, verdicts, box);
    draw_axis(canvas, &strip, box);
}

// Whether an earlier row has the verdict of ROW.
static bool was_said(const Strip *strip, size_t row)
{
    for (size_t i = 0; i < row; i++)
        if (strcmp(word_in(strip, i, VERDICT), word_in(strip, row, VERDICT)) == 0)
            return true;
    return false;
}

// "; missing: 3, 7" for each verdict but "found".
static void add_amiss(const Strip *strip, DwText *words)
{
    for (size_t row = 0; row < strip->table->row_count; row++) {
        if (is_found(strip, row) || was_said(strip, row))
            continue;
        dw_text_add(words, "; %s:", dw_said(word_in(strip, row, VERDICT)));
        for (size_t i = row; i < strip->table->row_count; i++)
            if (strcmp(word_in(strip, i, VERDICT), word_in(strip, row, VERDICT)) == 0)
                dw_text_add(words, "%s %.0f", i > row ? "," : "", number_in(strip, i, BAND));
    }
}

char *dw_band_strip_words(const DwTable *table)
{
    Strip strip;
    DwText words = {0};
    size_t there = 0;
    if (!find_columns(table, &strip))
        return dw_text_take(&words);
    for (size_t row = 0; row < table->row_count; row++)
        there += !isnan(number_in(&strip, row, START));
    dw_text_add_taken(&words, "",
                      dw_say("%zu of %zu bands were found in %.1f minutes", there, table->row_count, strip.end_s / 60));
    add_amiss(&strip, &words);
    dw_text_add(&words, ". %s",
                dw_said("Filled boxes are tones, wedges sweeps, stairs steps, two bars two tones, open boxes silent "
                        "groove; L+R is lateral, L−R vertical."));
    return dw_text_take(&words);
}
