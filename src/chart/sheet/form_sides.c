// SPDX-License-Identifier: MIT
#include "chart/sheet/form_drawing.h"

#include "base/plan/band_plan.h"
#include "base/text.h"
#include "base/tongue.h"
#include "chart/draw/band_strip.h"
#include "chart/draw/number.h"
#include "chart/draw/scale.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

// --- side: the bands of the plan along its time ----------------------------------------------------

// The bands as a table that the strip is drawn from; none of them is amiss yet.
static DwSheet *bands_of(const DwBandPlan *plan)
{
    static const char *const columns[] = {"band|Band||0", "kind|Kind||",       "channel|Channel||", "start|Start|s|1",
                                          "end|End|s|1",  "verdict|Verdict||", "content|Content||", NULL};
    DwSheet *sheet = dw_sheet_new("side", "");
    DwTable *table = dw_sheet_add_table(sheet, "side.bands", "", columns);
    for (size_t i = 0; i < plan->count; i++) {
        const DwBandPlanBand *band = &plan->bands[i];
        double start = dw_band_plan_start_s(plan, i);
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, band->number);
        dw_table_set_word(table, row, 1, dw_band_plan_kind_word(band->kind));
        dw_table_set_word(table, row, 2, band->kind == DW_PLAN_SILENCE ? "" : dw_band_plan_channel_word(band->channel));
        dw_table_set_number(table, row, 3, start);
        dw_table_set_number(table, row, 4, start + band->length_s);
        dw_table_set_word(table, row, 5, "found");
        char *content = dw_text_format("%g Hz to %g Hz", band->from_hz, band->to_hz);
        dw_table_set_word(table, row, 6, band->kind == DW_PLAN_SWEEP ? content : "");
        free(content);
    }
    return sheet;
}

// What each shape of the strip stands for, in a row or two.
static void draw_key(const DwFormDrawing *view, double y)
{
    dw_form_words(view, view->box.x + 2 * view->canvas->em, y, view->box.width - 4 * view->canvas->em, DW_INK_QUIET,
                  dw_say("Filled boxes are tones, wedges sweeps, stairs steps, two bars two tones, open boxes silent "
                         "groove; L+R is lateral, L−R vertical."));
}

// The recording needs to begin before the first band and to end after the last.
static void draw_used(const DwFormDrawing *view, double y, double last)
{
    double em = view->canvas->em, left = view->box.x + 2 * em, wide = view->box.width - 4 * em,
           start = dw_form_given(view, "record.start", "s"), end = dw_form_given(view, "record.end", "s");
    double from = isfinite(start) ? fmin(fmax(start / last, 0), 1) : 0, to = isfinite(end) ? fmin(end / last, 1) : 1;
    dw_dimension_stroke(view->canvas, (DwSpot){left + from * wide, y}, (DwSpot){left + fmax(from, to) * wide, y},
                        0.3 * em, false, DW_INK_TEXT);
    dw_form_label(view, left, y + 1.3 * em, 0, DW_INK_QUIET,
                  isfinite(start) ? dw_form_value("used from", start, "s") : dw_say("used from its beginning"));
    dw_form_label(view, left + wide, y + 1.3 * em, 1, DW_INK_QUIET,
                  isfinite(end) ? dw_form_value("to", end, "s") : dw_say("to its end"));
}

void dw_form_draw_side(const DwFormDrawing *view)
{
    const DwBox *box = &view->box;
    const DwBandPlan *plan = view->said->plan;
    double em = view->canvas->em, y = box->y + 2.6 * em, left = box->x + 2 * em, wide = box->width - 4 * em,
           high = dw_band_strip_height(view->canvas);
    if (!plan || !plan->count) {
        dw_form_rectangle(view, (DwBox){left, y + em, wide, 2.6 * em}, DW_INK_LINE);
        dw_form_label(view, box->x + box->width / 2, y + 2.3 * em, 0.5, DW_INK_QUIET,
                      dw_say("choose the record's plan: its bands are drawn here"));
        draw_used(view, y + high - 0.4 * em, fmax(dw_form_last_second(view), 1));
        draw_key(view, y + high + 2.6 * em);
        return;
    }
    DwSheet *sheet = bands_of(plan);
    double last = dw_band_plan_start_s(plan, plan->count - 1) + plan->bands[plan->count - 1].length_s;
    char *name = dw_text_format("%s", plan->name);
    dw_form_name(view, (DwLetters){.size = 1, .bold = true, .ink = DW_INK_TEXT}, left, box->y + 1.5 * em, 0.6 * wide,
                 name);
    free(name);
    dw_form_label(view, left + wide, box->y + 1.2 * em, 1, DW_INK_QUIET,
                  dw_say("%zu bands, %.1f minutes", plan->count, last / 60));
    dw_band_strip_draw(view->canvas, &sheet->tables[0], NULL, (DwBox){left, y, wide, high});
    draw_used(view, y + high + 0.6 * em, last);
    draw_key(view, y + high + 3.2 * em);
    dw_sheet_free(sheet);
}

// --- pressing: which copy was played on which deck ----------------------------------------------------

enum { TAKES_MOST = 12, NAME_MOST = 40 };

// The names of a list "A, A, B": which of them each recording has, in their order.
typedef struct {
    char names[TAKES_MOST][NAME_MOST];
    size_t count, of[TAKES_MOST], takes;
} Names;

static void read_names(const char *text, Names *names)
{
    *names = (Names){.count = 0};
    while (*(text += strspn(text, " ,;")) && names->takes < TAKES_MOST) {
        size_t length = strcspn(text, ",;"), kept = length < NAME_MOST - 1 ? length : NAME_MOST - 1, k = 0;
        while (kept && (isspace((unsigned char)text[kept - 1]) || (text[kept] & 0xC0) == 0x80))
            kept--; // nor is a letter cut in two
        char *name = names->names[names->count];
        memcpy(name, text, kept);
        name[kept] = '\0';
        while (k < names->count && strcmp(names->names[k], name) != 0)
            k++;
        names->count += k == names->count;
        names->of[names->takes++] = k;
        text += length;
    }
}

static double place_of(const DwBox *box, const Names *names, size_t which)
{
    double count = names->count ? (double)names->count : 1;
    return box->y + box->height * ((double)which + 0.5) / count;
}

static void draw_copies(const DwFormDrawing *view, const Names *names, const DwBox *box)
{
    const DwLetters letters = {.size = 0.9, .ink = DW_INK_TEXT};
    double em = view->canvas->em, radius = fmin(1.6 * em, 0.42 * box->height / fmax(1, (double)names->count));
    for (size_t i = 0; i < (names->count ? names->count : 1); i++) {
        DwSpot middle = {box->x + box->width, place_of(box, names, i)};
        dw_form_circle(view, middle, radius, DW_INK_TEXT);
        dw_form_circle(view, middle, 0.35 * radius, DW_INK_LINE);
        const char *name = names->count ? names->names[i] : "?";
        double most = box->width - radius - 0.5 * em,
               wide = fmin(most, dw_canvas_width(view->canvas, letters, name) + 1);
        dw_form_name(view, letters, box->x + most - wide, middle.y + 0.3 * em, wide, name);
    }
}

static void draw_decks(const DwFormDrawing *view, const Names *names, const DwBox *box)
{
    double em = view->canvas->em, half = fmin(1.4 * em, 0.4 * box->height / fmax(1, (double)names->count));
    for (size_t i = 0; i < (names->count ? names->count : 1); i++) {
        DwSpot middle = {box->x, place_of(box, names, i)};
        dw_form_rectangle(view, (DwBox){middle.x - 1.3 * half, middle.y - half, 2.6 * half, 2 * half}, DW_INK_TEXT);
        dw_form_circle(view, (DwSpot){middle.x - 0.3 * half, middle.y}, 0.7 * half, DW_INK_LINE);
        dw_form_line(view, (DwSpot){middle.x + half, middle.y - 0.6 * half}, (DwSpot){middle.x, middle.y + 0.3 * half},
                     false, DW_INK_TEXT);
        dw_form_name(view, (DwLetters){.size = 0.9, .ink = DW_INK_TEXT}, middle.x + 1.8 * half, middle.y + 0.3 * em,
                     box->x + box->width - middle.x - 1.8 * half, names->count ? names->names[i] : "?");
    }
}

// What such takes can part (docs/methods/side.md).
static char *told_by(const Names *copies, const Names *decks)
{
    if (copies->takes > 1 && decks->takes > 1 && copies->takes != decks->takes)
        return dw_say("%zu copies are named, but %zu decks: name one for each recording, or one for all.",
                      copies->takes, decks->takes);
    if (copies->count > 1 && decks->count > 1)
        return dw_say("What all share is the record's own; the rest goes with a copy or with a deck.");
    if (copies->count > 1)
        return dw_say("What a copy adds is its own. The deck's errors stay in what all share.");
    if (decks->count > 1)
        return dw_say("What all share is the record's own; what a deck adds is the deck's.");
    return dw_say("Name the copies, the decks, or both: A, A, B. Two recordings or more.");
}

void dw_form_draw_pressing(const DwFormDrawing *view)
{
    const DwBox *box = &view->box;
    double em = view->canvas->em, top = box->y + 2.6 * em, high = box->height - 6.8 * em, side = 0.3 * box->width;
    Names copies, decks;
    read_names(dw_inputs_word(view->inputs, "pressing.copies"), &copies);
    read_names(dw_inputs_word(view->inputs, "pressing.decks"), &decks);
    DwBox left = {box->x + em, top, side, high}, right = {box->x + box->width - em - side, top, side, high};
    dw_form_label(view, left.x, box->y + 1.2 * em, 0, DW_INK_QUIET, dw_say("copies of the record"));
    dw_form_label(view, right.x + right.width, box->y + 1.2 * em, 1, DW_INK_QUIET, dw_say("decks or cartridges"));
    size_t takes = copies.takes > decks.takes ? copies.takes : decks.takes;
    takes = takes < 2 ? 2 : takes;
    double from = left.x + left.width + 2 * em, to = right.x - 2.2 * em;
    for (size_t i = 0; i < takes; i++) {
        size_t copy = copies.takes > i ? copies.of[i] : 0, deck = decks.takes > i ? decks.of[i] : 0, before = 0;
        for (size_t k = 0; k < i; k++)
            before += (copies.takes > k ? copies.of[k] : 0) == copy && (decks.takes > k ? decks.of[k] : 0) == deck;
        double off = 1.5 * em * (double)before * (before % 2 ? 1 : -1) * 0.6,
               share = 0.25 + 0.5 * ((double)i + 0.5) / (double)takes;
        DwSpot a = {from, place_of(&left, &copies, copy) + off}, b = {to, place_of(&right, &decks, deck) + off};
        dw_form_line(view, a, b, false, DW_INK_ACCENT);
        dw_form_label(view, a.x + share * (b.x - a.x), a.y + share * (b.y - a.y), 0.5, DW_INK_TEXT,
                      dw_text_format("%zu", i + 1));
    }
    draw_copies(view, &copies, &left);
    draw_decks(view, &decks, &right);
    bool amiss = copies.takes > 1 && decks.takes > 1 && copies.takes != decks.takes;
    dw_form_words(view, box->x + em, box->y + box->height - 3.4 * em, box->width - 2 * em,
                  amiss ? DW_INK_ATTENTION : DW_INK_TEXT, told_by(&copies, &decks));
}

// --- riaa: the curve, its time constants, and what was measured -----------------------------------------

typedef struct {
    const DwFormDrawing *view;
    DwBox field;
    DwScale x, y;
} Curve;

static DwSpot on(const Curve *curve, double frequency, double level)
{
    return (DwSpot){dw_scale_place(&curve->x, frequency), dw_scale_place(&curve->y, level)};
}

// The curve's level at FREQUENCY, between its points; NAN beside them.
static double level_at(const DwCurve *line, double frequency)
{
    for (size_t i = 1; i < line->count; i++)
        if (line->x_values[i - 1] <= frequency && frequency <= line->x_values[i]) {
            double part = (frequency - line->x_values[i - 1]) / (line->x_values[i] - line->x_values[i - 1]);
            return line->y_values[i - 1] + part * (line->y_values[i] - line->y_values[i - 1]);
        }
    return NAN;
}

static void draw_grid(const Curve *curve)
{
    const DwCanvas *canvas = curve->view->canvas;
    const DwLetters small = {.size = 0.75, .ink = DW_INK_QUIET};
    static const struct {
        double at;
        const char *text;
    } rates[] = {{20, "20"}, {100, "100"}, {1000, "1k"}, {10000, "10k"}};
    double foot = curve->field.y + curve->field.height, em = canvas->em;
    for (size_t i = 0; i < sizeof rates / sizeof *rates; i++) {
        DwSpot at = on(curve, rates[i].at, 0);
        dw_dimension_stroke(canvas, (DwSpot){at.x, curve->field.y}, (DwSpot){at.x, foot}, 0.05 * em, false,
                            DW_INK_LINE);
        dw_canvas_write(canvas, small, at.x, foot + em, 0.5, rates[i].text);
    }
    for (int level = -20; level <= 20; level += 10) {
        DwSpot at = on(curve, 1000, level);
        dw_dimension_stroke(canvas, (DwSpot){curve->field.x, at.y}, (DwSpot){curve->field.x + curve->field.width, at.y},
                            0.05 * em, false, DW_INK_LINE);
        dw_canvas_write(canvas, small, curve->field.x - 0.4 * em, at.y + 0.25 * em, 1,
                        dw_number_print(level, 0, true).text);
    }
    dw_canvas_write(canvas, small, curve->field.x + curve->field.width, foot + em, 1, "Hz");
    dw_canvas_write(canvas, small, curve->field.x - 0.4 * em, curve->field.y - 0.3 * em, 1, "dB");
}

static void draw_line(const Curve *curve, const DwCurve *line)
{
    cairo_t *cairo = curve->view->canvas->cairo;
    cairo_new_path(cairo);
    for (size_t i = 0; i < line->count; i++) {
        if (line->x_values[i] < curve->x.low || line->x_values[i] > curve->x.high)
            continue;
        DwSpot at = on(curve, line->x_values[i], line->y_values[i]);
        cairo_line_to(cairo, at.x, at.y);
    }
    dw_canvas_use(curve->view->canvas, DW_INK_ACCENT);
    cairo_set_line_width(cairo, 0.15 * curve->view->canvas->em);
    cairo_stroke(cairo);
}

// Where each of the three time constants bends it.
static void draw_corners(const Curve *curve, const DwCurve *line)
{
    static const struct {
        const char *key, *time;
    } corners[] = {{"riaa.corner_bass", "3180 µs"}, {"riaa.corner_middle", "318 µs"}, {"riaa.corner_treble", "75 µs"}};
    double em = curve->view->canvas->em;
    for (size_t i = 0; i < sizeof corners / sizeof *corners; i++) {
        const DwReading *reading = dw_sheet_reading(curve->view->said->sheet, corners[i].key);
        if (!reading)
            continue;
        DwSpot at = on(curve, reading->value, level_at(line, reading->value));
        dw_form_dot(curve->view, at, 0.3 * em, DW_INK_ACCENT);
        // It falls to the right: there is room above.
        dw_form_label(curve->view, at.x + 0.7 * em, at.y - 1.9 * em, 0, DW_INK_TEXT,
                      dw_text_format("%s", corners[i].time));
        dw_form_label(curve->view, at.x + 0.7 * em, at.y - 0.8 * em, 0, DW_INK_QUIET,
                      dw_text_format("%s%sHz", dw_number_print(reading->value, 0, false).text, dw_number_space("Hz")));
    }
}

// The frequencies that were chosen, and the measured levels, each joined with the curve.
static void draw_typed(const Curve *curve, const DwCurve *line)
{
    const DwFormDrawing *view = curve->view;
    double em = view->canvas->em, foot = curve->field.y + curve->field.height, frequency, level;
    size_t chosen = dw_inputs_count(view->inputs, "riaa.frequency");
    for (size_t i = 0; i < chosen; i++) {
        frequency = dw_inputs_in_at(view->inputs, "riaa.frequency", i, "Hz");
        DwSpot at = on(curve, frequency, level_at(line, frequency));
        if (isfinite(at.y))
            dw_dimension_stroke(view->canvas, (DwSpot){at.x, foot}, at, 0.12 * em, true, DW_INK_TEXT);
    }
    for (size_t i = 0; dw_inputs_pair_in(view->inputs, "riaa.measured", i, "Hz", "dB", &frequency, &level); i++) {
        double wanted = level_at(line, frequency);
        DwSpot at = on(curve, frequency, fmax(fmin(level, curve->y.high), curve->y.low));
        if (isfinite(wanted))
            dw_form_line(view, on(curve, frequency, wanted), at, false, DW_INK_ATTENTION);
        dw_form_dot(view, at, 0.36 * em, DW_INK_TEXT);
    }
}

void dw_form_draw_riaa(const DwFormDrawing *view)
{
    const DwBox *box = &view->box;
    double em = view->canvas->em;
    const DwCurve *line = view->said->sheet ? dw_sheet_curve(view->said->sheet, "riaa.replay") : NULL;
    Curve curve = {.view = view,
                   .field = {box->x + 3 * em, box->y + 1.6 * em, box->width - 4.5 * em, box->height - 5.4 * em}};
    curve.x = dw_scale_logarithmic((DwRange){10, 40000}, curve.field.x, curve.field.x + curve.field.width);
    curve.y = dw_scale_linear((DwRange){-25, 25}, 0, curve.field.y + curve.field.height, curve.field.y);
    draw_grid(&curve);
    if (line) {
        draw_line(&curve, line);
        draw_corners(&curve, line);
        draw_typed(&curve, line);
    }
    dw_form_words(view, box->x + em, box->y + box->height - 2.6 * em, box->width - 2 * em, DW_INK_QUIET,
                  dw_inputs_count(view->inputs, "riaa.measured")
                      ? dw_say("Discs: measured, each with what it is off the curve.")
                      : dw_say("Level of the preamplifier's output, from that at 1 kHz."));
}
