// SPDX-License-Identifier: MIT
#include "chart/sheet/sheet_plots.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "chart/sheet/describe.h"
#include "chart/draw/number.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Curves of one measurement on the same axes; a whole side has several measurements.
static bool share_axes(const DwCurve *a, const DwCurve *b)
{
    size_t subject = strcspn(a->key, ".");
    return strncmp(a->key, b->key, subject + 1) == 0 && strcmp(a->x.unit, b->x.unit) == 0 &&
           strcmp(a->x.label, b->x.label) == 0 && strcmp(a->y.unit, b->y.unit) == 0;
}

static void add_line(DwPlot *plot, const DwCurve *curve, bool as_received, size_t colour, char *label)
{
    plot->lines = dw_memory_resize(plot->lines, plot->line_count + 1, sizeof *plot->lines);
    plot->lines[plot->line_count++] =
        (DwPlotLine){.curve = curve, .as_received = as_received, .colour = colour, .label = label};
}

// A line over time crosses its plot and ends where its label stands; a single
// line needs none, since the plot's title names it.
static char *line_label(const DwChartWords *words, const DwCurve *curve, size_t shared, bool is_pair, bool as_received)
{
    const char *state = dw_chart_words_say(words, as_received ? "received" : "left");
    if (!is_pair)
        return dw_memory_text(shared > 1 ? dw_said_label(curve->label) : "");
    return shared > 1 ? dw_text_format("%s, %s", dw_said_label(curve->label), state) : dw_memory_text(state);
}

static void add_before(DwPlot *plot, const DwChartWords *words, const DwSheet *before, const DwCurve *curve,
                       size_t colour, size_t shared)
{
    const DwCurve *earlier = before ? dw_sheet_curve(before, curve->key) : NULL;
    if (earlier && share_axes(earlier, curve))
        add_line(plot, earlier, true, colour, line_label(words, earlier, shared, true, true));
}

// Bytes that all labels have in common at their beginning (or at their end), whole words with the blank beside them.
static size_t in_common(const DwPlot *plot, bool at_end)
{
    const char *first = plot->lines[0].label;
    size_t most = strlen(first), words = 0;
    for (size_t i = 1; i < plot->line_count; i++) {
        const char *label = plot->lines[i].label;
        size_t length = strlen(label), whole = strlen(first), alike = 0;
        while (alike < most && alike < length &&
               (at_end ? first[whole - 1 - alike] == label[length - 1 - alike] : first[alike] == label[alike]))
            alike++;
        most = alike;
    }
    for (size_t n = 0; n < most; n++)
        if (first[at_end ? strlen(first) - 1 - n : n] == ' ')
            words = n + 1;
    return words;
}

// Long labels beside one another need not repeat what all of them say: "What the belt does once round" beside the
// motor's is "belt".
static void shorten_labels(DwPlot *plot)
{
    enum { LONG = 24 };
    size_t longest = 0;
    for (size_t i = 0; i < plot->line_count; i++)
        longest = strlen(plot->lines[i].label) > longest ? strlen(plot->lines[i].label) : longest;
    if (plot->line_count < 2 || longest <= LONG)
        return;
    size_t before = in_common(plot, false), behind = in_common(plot, true);
    for (size_t i = 0; i < plot->line_count; i++)
        if (strlen(plot->lines[i].label) <= before + behind)
            return;
    for (size_t i = 0; i < plot->line_count; i++) {
        char *label = plot->lines[i].label;
        plot->lines[i].label = dw_text_format("%.*s", (int)(strlen(label) - before - behind), label + before);
        free(label);
    }
}

static bool is_wide(const DwPlot *plot)
{
    DwRange range = dw_scale_nothing();
    for (size_t i = 0; i < plot->line_count; i++) {
        const DwCurve *curve = plot->lines[i].curve;
        for (size_t j = 0; j < curve->count; j++)
            if (curve->x_values[j] > 0 && isfinite(curve->x_values[j]))
                range = dw_scale_widen(range, curve->x_values[j]);
    }
    return dw_scale_holds_something(range) && range.high >= 10 * range.low;
}

// Only a limit on the very thing drawn is shaded: one on its mean, or on what a
// detector makes of it, says nothing about a moment.
static void find_allowed(DwPlot *plot, const DwSheet *sheet, const DwCurve *curve)
{
    plot->allowed_low = plot->allowed_high = NAN;
    const DwReading *reading = dw_sheet_reading(sheet, curve->key);
    if (!reading || !reading->limit || strcmp(reading->unit, curve->y.unit) != 0)
        return;
    plot->allowed_low = reading->limit->low;
    plot->allowed_high = reading->limit->high;
}

// The column of TABLE called KEY, or else the first in UNIT; its count when there is none.
static size_t find_column(const DwTable *table, const char *key, const char *unit)
{
    for (size_t i = 0; i < table->column_count; i++)
        if (strcmp(table->columns[i].key, key) == 0)
            return i;
    for (size_t i = 0; unit && i < table->column_count; i++)
        if (strcmp(table->columns[i].unit, unit) == 0)
            return i;
    return table->column_count;
}

static int larger_first(const void *a, const void *b)
{
    const DwPlotStem *first = a, *second = b;
    double one = isnan(first->y) ? -INFINITY : first->y, other = isnan(second->y) ? -INFINITY : second->y;
    if (one == other)
        return (first->x > second->x) - (first->x < second->x);
    return one > other ? -1 : 1;
}

// The word of a table's cell, NULL where there is no such column or nothing stands in it.
static const char *word_of(const DwTable *table, size_t row, size_t column)
{
    const char *word = column < table->column_count ? dw_table_cell(table, row, column)->word : NULL;
    return word && word[0] ? word : NULL;
}

static void add_stem(DwPlot *plot, const DwTable *table, size_t row, size_t frequency, size_t amplitude)
{
    double x = dw_table_cell(table, row, frequency)->number;
    if (!isfinite(x) || x <= 0)
        return;
    // "Cogging" and "first belt" tell more than "pole" and "belt".
    const char *part = word_of(table, row, find_column(table, "part", NULL)),
               *what = word_of(table, row, find_column(table, "what", NULL)), *name = what ? what : part;
    DwNumber number = dw_number_print(x, dw_number_digits(x), false);
    plot->stems = dw_memory_resize(plot->stems, plot->stem_count + 1, sizeof *plot->stems);
    plot->stems[plot->stem_count++] = (DwPlotStem){
        .x = x,
        .y = amplitude < table->column_count ? dw_table_cell(table, row, amplitude)->number : NAN,
        .label = dw_text_format("%s\u202fHz%s%s", number.text, name ? " " : "", name ? dw_said_label(name) : ""),
    };
}

static void find_stems(DwPlot *plot, const DwSheet *sheet, const DwCurve *curve)
{
    if (strcmp(plot->x.unit, "Hz") != 0)
        return;
    char *key = dw_text_format("%.*s.lines", (int)strcspn(curve->key, "."), curve->key);
    const DwTable *table = dw_sheet_table(sheet, key);
    free(key);
    size_t frequency = table ? find_column(table, "frequency", "Hz") : 0;
    if (!table || frequency == table->column_count)
        return;
    size_t amplitude = find_column(table, "amplitude", plot->y.unit);
    for (size_t row = 0; row < table->row_count; row++)
        add_stem(plot, table, row, frequency, amplitude);
    if (plot->stem_count > 0)
        qsort(plot->stems, plot->stem_count, sizeof *plot->stems, larger_first);
}

static void write_captions(DwPlot *plot, const DwChartWords *words, const DwCurve *first, size_t shared)
{
    plot->title = dw_memory_text(dw_said_label(shared > 1 ? first->y.label : first->label));
    DwText caption = {0};
    for (size_t i = 0; i < plot->line_count; i++) {
        const DwPlotLine *line = &plot->lines[i];
        // Of a pair the caption says how it was left; beyond three it would be a wall of words.
        if (line->as_received || line->colour >= 3)
            continue;
        char *sentence = dw_describe_curve_in(words, line->curve);
        dw_text_add(&caption, "%s%s", caption.length > 0 ? " " : "", sentence);
        free(sentence);
    }
    if (isfinite(plot->allowed_low) || isfinite(plot->allowed_high))
        dw_text_add(&caption, " %s", dw_chart_words_say(words, "curve.allowed"));
    plot->caption = dw_text_take(&caption);
}

static DwPlot make_plot(const DwChartWords *words, const DwSheet *sheet, const DwSheet *before, size_t first,
                        bool *taken)
{
    const DwCurve *head = &sheet->curves[first];
    DwPlot plot = {.x = head->x, .y = head->y};
    size_t shared = 0, colour = 0;
    for (size_t i = first; i < sheet->curve_count; i++)
        shared += share_axes(head, &sheet->curves[i]);
    for (size_t i = first; i < sheet->curve_count; i++) {
        const DwCurve *curve = &sheet->curves[i];
        if (!share_axes(head, curve))
            continue;
        taken[i] = true;
        size_t lines = plot.line_count;
        add_before(&plot, words, before, curve, colour, shared);
        bool is_pair = plot.line_count > lines;
        add_line(&plot, curve, false, colour++, line_label(words, curve, shared, is_pair, false));
    }
    shorten_labels(&plot);
    plot.logarithmic = strcmp(plot.x.unit, "Hz") == 0 && is_wide(&plot);
    find_allowed(&plot, sheet, head);
    find_stems(&plot, sheet, head);
    write_captions(&plot, words, head, shared);
    return plot;
}

DwPlot *dw_sheet_plots_new(const DwSheet *sheet, const DwSheet *before, size_t *count)
{
    return dw_sheet_plots_new_in(NULL, sheet, before, count);
}

DwPlot *dw_sheet_plots_new_in(const DwChartWords *words, const DwSheet *sheet, const DwSheet *before, size_t *count)
{
    DwPlot *plots = dw_memory_new(sheet->curve_count + 1, sizeof *plots);
    bool *taken = dw_memory_new(sheet->curve_count + 1, sizeof *taken);
    *count = 0;
    for (size_t i = 0; i < sheet->curve_count; i++)
        if (!taken[i] && sheet->curves[i].count > 0)
            plots[(*count)++] = make_plot(words, sheet, before, i, taken);
    free(taken);
    return plots;
}

void dw_sheet_plots_free(DwPlot *plots, size_t count)
{
    for (size_t i = 0; i < count; i++)
        dw_plot_clear(&plots[i]);
    free(plots);
}
