// SPDX-License-Identifier: MIT
#include "chart/sheet/describe.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "chart/draw/band_strip.h"
#include "chart/sheet/arm_view.h"
#include "chart/sheet/side_overview.h"
#include "chart/draw/number.h"
#include "chart/draw/rhythm.h"
#include "chart/draw/scale.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// A rhythm is named when its sine explains at least this share of the variance,
// and a pattern of rows when neighbours are at least this much alike.
static const double share_worth_naming = 0.25;
static const double likeness_worth_naming = 0.3;

enum { PEAKS_NAMED = 3, CROSSINGS_NAMED = 3 };

static void add_value(DwText *text, double value, int digits, bool is_signed, const char *unit)
{
    DwNumber number = dw_number_print(value, digits, is_signed);
    dw_text_add(text, "%s%s%s", number.text, dw_number_space(unit), dw_number_unit(unit));
}

// With the digits that suit the value itself.
static void add_plain(DwText *text, double value, const char *unit)
{
    add_value(text, value, dw_number_digits(value), false, unit);
}

static char *value_text(double value, int digits, bool is_signed, const char *unit);

static void add_limit(DwText *text, const DwReading *reading)
{
    const DwLimit *limit = reading->limit;
    bool is_signed = limit->low < 0;
    char *low = value_text(limit->low, reading->digits, is_signed, reading->unit);
    char *high = value_text(limit->high, reading->digits, is_signed, reading->unit);
    if (isfinite(limit->low) && isfinite(limit->high))
        dw_text_add_taken(text, ", ", dw_say("allowed from %s to %s", low, high));
    else if (isfinite(limit->low))
        dw_text_add_taken(text, ", ", dw_say("allowed from %s up", low));
    else if (isfinite(limit->high))
        dw_text_add_taken(text, ", ", dw_say("allowed up to %s", high));
    free(low);
    free(high);
    if (limit->source && limit->source[0])
        dw_text_add(text, " (%s)", dw_said_label(limit->source));
}

static void add_doubts(DwText *text, unsigned flags)
{
    DwText doubts = {0};
    for (int bit = 0; bit < DW_FLAG_COUNT; bit++)
        if (flags & 1u << bit)
            dw_text_add(&doubts, "%s%s", doubts.length ? ", " : "", dw_said(dw_flag_word((DwFlag)(1u << bit))));
    if (doubts.length)
        dw_text_add_taken(text, "; ", dw_say("doubtful because %s", doubts.chars));
    dw_text_clear(&doubts);
}

// Labels may begin small; sentences do not.
// TEXT (which it frees) between BEFORE and AFTER.
static char *between(const char *before, char *text, const char *after)
{
    char *whole = dw_text_format("%s%s%s", before, text, after);
    free(text);
    return whole;
}

static char *capital(char *sentence)
{
    dw_text_begin_sentence(sentence);
    return sentence;
}

// The value with its uncertainty.
static char *figure_text(const DwReading *reading)
{
    bool is_signed = reading->limit && reading->limit->low < 0;
    DwText text = {0};
    add_value(&text, reading->value, reading->digits, is_signed, reading->unit);
    if (reading->uncertainty > 0) {
        dw_text_add(&text, " ± ");
        add_value(&text, reading->uncertainty, dw_text_doubt_decimals(reading->uncertainty, reading->digits), false,
                  reading->unit);
    }
    return dw_text_take(&text);
}

char *dw_describe_reading(const DwReading *reading)
{
    DwText text = {0};
    const char *label = dw_said_label(reading->label);
    if (reading->word)
        dw_text_add(&text, "%s: %s", label, dw_said_label(reading->word));
    else if (!isfinite(reading->value))
        dw_text_add_taken(&text, "", dw_say("%s could not be determined", label));
    else {
        char *figure = figure_text(reading);
        dw_text_add_taken(&text, "", dw_say("%s is %s", label, figure));
        free(figure);
        if (reading->limit)
            add_limit(&text, reading);
    }
    if (reading->verdict != DW_VERDICT_NONE)
        dw_text_add(&text, ": %s", dw_said(dw_verdict_word(reading->verdict)));
    add_doubts(&text, reading->flags);
    dw_text_add(&text, ".");
    return capital(dw_text_take(&text));
}

// What is finite in a curve, and where it is lowest and highest.
typedef struct {
    size_t used, lowest, highest, first, last;
    int digits; // that suit the larger end
} Extent;

static Extent extent_of(const DwCurve *curve)
{
    Extent extent = {0};
    for (size_t i = 0; i < curve->count; i++) {
        if (!isfinite(curve->y_values[i]) || !isfinite(curve->x_values[i]))
            continue;
        if (extent.used == 0)
            extent.first = extent.lowest = extent.highest = i;
        extent.used++;
        extent.last = i;
        if (curve->y_values[i] < curve->y_values[extent.lowest])
            extent.lowest = i;
        if (curve->y_values[i] > curve->y_values[extent.highest])
            extent.highest = i;
    }
    if (extent.used > 0)
        extent.digits =
            dw_number_digits(fmax(fabs(curve->y_values[extent.lowest]), fabs(curve->y_values[extent.highest])));
    return extent;
}

// VALUE in words of its own; the caller frees it with free().
static char *value_text(double value, int digits, bool is_signed, const char *unit)
{
    DwText text = {0};
    add_value(&text, value, digits, is_signed, unit);
    return dw_text_take(&text);
}

static char *plain_text(double value, const char *unit)
{
    return value_text(value, dw_number_digits(value), false, unit);
}

// "stays between −0.2 % and +0.3 %".
static char *ends_text(const DwChartWords *words, const DwCurve *curve, Extent extent)
{
    double low = curve->y_values[extent.lowest], high = curve->y_values[extent.highest];
    bool is_signed = low != high && low < 0;
    char *first = value_text(low, extent.digits, is_signed, curve->y.unit);
    char *second = value_text(high, extent.digits, is_signed, curve->y.unit);
    char *text = low == high ? dw_chart_words_fill(words, "curve.steady", "value", first, NULL)
                             : dw_chart_words_fill(words, "curve.between", "low", first, "high", second, NULL);
    free(first);
    free(second);
    return text;
}

static char *rhythm_text(const DwChartWords *words, const DwCurve *curve)
{
    double share = 0;
    double period = dw_rhythm_period(curve->x_values, curve->y_values, curve->count, &share);
    if (!isfinite(period) || share < share_worth_naming)
        return dw_memory_text("");
    char *once = plain_text(period, curve->x.unit);
    char *text = dw_chart_words_fill(words, "curve.rhythm", "period", once, NULL);
    free(once);
    return between("; ", text, "");
}

static char *over_time(const DwChartWords *words, const DwCurve *curve, Extent extent)
{
    char *span = plain_text(curve->x_values[extent.last] - curve->x_values[extent.first], curve->x.unit);
    char *ends = ends_text(words, curve, extent), *rhythm = rhythm_text(words, curve);
    char *text = dw_chart_words_fill(words, "curve.time", "name", dw_said_label(curve->label), "span", span, "ends",
                                     ends, "rhythm", rhythm, NULL);
    free(span);
    free(ends);
    free(rhythm);
    return text;
}

// Whether point I stands above its finite neighbours and above a twentieth of
// the highest; lower ones are grass.
static bool is_peak(const DwCurve *curve, size_t i, double highest)
{
    const double *y = curve->y_values;
    if (!isfinite(y[i]) || y[i] < 0.05 * highest)
        return false;
    return (i == 0 || !(y[i - 1] >= y[i])) && (i + 1 == curve->count || !(y[i + 1] > y[i]));
}

static size_t next_peak(const DwCurve *curve, double highest, double below, size_t not_this)
{
    size_t best = curve->count;
    for (size_t i = 0; i < curve->count; i++)
        if (i != not_this && is_peak(curve, i, highest) && curve->y_values[i] < below &&
            (best == curve->count || curve->y_values[i] > curve->y_values[best]))
            best = i;
    return best;
}

static char *peaks_text(const DwChartWords *words, const DwCurve *curve, Extent extent)
{
    DwText text = {0};
    size_t peak = extent.highest;
    double highest = curve->y_values[peak];
    for (size_t i = 0; i < PEAKS_NAMED && peak < curve->count; i++) {
        char *at = plain_text(curve->x_values[peak], curve->x.unit);
        char *value = plain_text(curve->y_values[peak], curve->y.unit);
        char *named = dw_chart_words_fill(words, "curve.peak", "at", at, "value", value, NULL);
        if (i > 0)
            dw_text_add(&text, ", %s ", dw_chart_words_say(words, "curve.then"));
        dw_text_add(&text, "%s", named);
        peak = next_peak(curve, highest, curve->y_values[peak], peak);
        free(at);
        free(value);
        free(named);
    }
    return dw_text_take(&text);
}

static char *over_frequency(const DwChartWords *words, const DwCurve *curve, Extent extent)
{
    char *from = plain_text(curve->x_values[extent.first], curve->x.unit);
    char *to = plain_text(curve->x_values[extent.last], curve->x.unit), *peaks = peaks_text(words, curve, extent);
    char *text = dw_chart_words_fill(words, "curve.spectrum", "name", dw_said_label(curve->label), "from", from, "to",
                                     to, "peaks", peaks, NULL);
    free(from);
    free(to);
    free(peaks);
    return text;
}

// Where the line between finite neighbours passes through zero.
static char *crossings_text(const DwChartWords *words, const DwCurve *curve)
{
    DwText places = {0};
    size_t named = 0;
    for (size_t i = 0; i + 1 < curve->count && named <= CROSSINGS_NAMED; i++) {
        double here = curve->y_values[i], next = curve->y_values[i + 1];
        if (!((here < 0 && next >= 0) || (here > 0 && next <= 0)))
            continue;
        double at = curve->x_values[i] + here / (here - next) * (curve->x_values[i + 1] - curve->x_values[i]);
        if (named == CROSSINGS_NAMED)
            dw_text_add(&places, " %s", dw_chart_words_say(words, "curve.elsewhere"));
        else {
            dw_text_add(&places, "%s", named == 0 ? "" : ", ");
            add_plain(&places, at, curve->x.unit);
        }
        named++;
    }
    char *text = named ? between("; ", dw_chart_words_fill(words, "curve.crossings", "places", places.chars, NULL), "")
                       : dw_memory_text("");
    dw_text_clear(&places);
    return text;
}

static char *extremes_text(const DwChartWords *words, const DwCurve *curve, Extent extent)
{
    if (extent.highest == extent.lowest)
        return dw_memory_text("");
    char *low = plain_text(curve->x_values[extent.lowest], curve->x.unit);
    char *high = plain_text(curve->x_values[extent.highest], curve->x.unit);
    char *text = dw_chart_words_fill(words, "curve.extremes", "low", low, "high", high, NULL);
    free(low);
    free(high);
    return between(" (", text, ")");
}

static char *otherwise(const DwChartWords *words, const DwCurve *curve, Extent extent)
{
    char *ends = ends_text(words, curve, extent), *extremes = extremes_text(words, curve, extent);
    char *crossings = crossings_text(words, curve);
    char *text = dw_chart_words_fill(words, "curve.other", "name", dw_said_label(curve->label), "ends", ends,
                                     "extremes", extremes, "crossings", crossings, NULL);
    free(ends);
    free(extremes);
    free(crossings);
    return text;
}

static char *curve_text(const DwChartWords *words, const DwCurve *curve)
{
    Extent extent = extent_of(curve);
    if (extent.used == 0)
        return dw_chart_words_fill(words, "curve.empty", "name", dw_said_label(curve->label), NULL);
    if (strcmp(curve->x.unit, "s") == 0)
        return over_time(words, curve, extent);
    if (strcmp(curve->x.unit, "Hz") == 0 && curve->y_values[extent.highest] > 0 && curve->y_values[extent.lowest] >= 0)
        return over_frequency(words, curve, extent);
    return otherwise(words, curve, extent);
}

char *dw_describe_curve_in(const DwChartWords *words, const DwCurve *curve)
{
    return capital(curve_text(words, curve));
}

char *dw_describe_curve(const DwCurve *curve)
{
    return dw_describe_curve_in(NULL, curve);
}

static char *slant_text(const DwChartWords *words, const DwRaster *raster, double shift)
{
    double turn = fabs(shift / (double)raster->columns * raster->across_span);
    char *value = value_text(turn, turn < 2 ? 1 : 0, false, raster->across.unit);
    char *text = dw_chart_words_fill(words, shift > 0 ? "raster.right" : "raster.left", "turn", value, NULL);
    free(value);
    return text;
}

// A per cent of a whole, as in a sentence.
static char *share_text(double share)
{
    return dw_text_format("%.0f\u202f%%", 100 * share);
}

static char *pattern_text(const DwChartWords *words, const DwRaster *raster)
{
    if (raster->rows < 3)
        return dw_memory_text("");
    DwRowPattern pattern = dw_rhythm_rows(raster);
    bool is_upright = pattern.upright > fmax(share_worth_naming, 3.0 / (double)raster->rows);
    bool is_slanted = pattern.likeness >= likeness_worth_naming && pattern.shift != 0;
    if (!is_upright && !is_slanted)
        return between("; ", dw_memory_text(dw_chart_words_say(words, "raster.none")), "");
    char *slant = is_slanted ? slant_text(words, raster, pattern.shift) : dw_memory_text("");
    char *share = share_text(pattern.upright);
    char *text = is_upright ? dw_chart_words_fill(words, "raster.upright", "share", share, NULL)
                            : dw_chart_words_fill(words, "raster.slanted", "slant", slant, NULL);
    // A small rest may slant without mattering.
    if (is_upright && is_slanted && pattern.upright < 0.95) {
        char *rest = dw_chart_words_fill(words, "raster.rest", "slant", slant, NULL);
        char *both = dw_text_format("%s, %s", text, rest);
        free(text);
        free(rest);
        text = both;
    }
    free(slant);
    free(share);
    return between("; ", text, "");
}

static char *missing_text(const DwChartWords *words, size_t used, size_t count)
{
    if (used == count)
        return dw_memory_text("");
    char *share = share_text(fmax(0.01, (double)(count - used) / (double)count));
    char *text = dw_chart_words_fill(words, "raster.missing", "share", share, NULL);
    free(share);
    return between("; ", text, "");
}

static char *measured_raster(const DwChartWords *words, const DwRaster *raster, const char *name, DwRange range,
                             size_t used)
{
    int digits = dw_number_digits(fmax(fabs(range.low), fabs(range.high)));
    char *low = value_text(range.low, digits, range.low < 0, raster->unit);
    char *high = value_text(range.high, digits, range.low < 0, raster->unit);
    char *pattern = pattern_text(words, raster);
    char *missing = missing_text(words, used, raster->rows * raster->columns);
    char *text = dw_chart_words_fill(words, "raster.range", "raster", name, "low", low, "high", high, "pattern",
                                     pattern, "missing", missing, NULL);
    free(low);
    free(high);
    free(pattern);
    free(missing);
    return text;
}

char *dw_describe_raster_in(const DwChartWords *words, const DwRaster *raster)
{
    DwRange range = dw_scale_nothing();
    size_t count = raster->rows * raster->columns, used = 0;
    for (size_t i = 0; i < count; i++) {
        if (!isfinite(raster->values[i]))
            continue;
        range = dw_scale_widen(range, raster->values[i]);
        used++;
    }
    char *rows = dw_text_format("%zu", raster->rows);
    char *name = dw_chart_words_fill(words, raster->rows == 1 ? "raster.row" : "raster.rows", "name",
                                     dw_said_label(raster->label), "rows", rows, NULL);
    char *text = used ? measured_raster(words, raster, name, range, used)
                      : dw_chart_words_fill(words, "raster.empty", "raster", name, NULL);
    free(rows);
    free(name);
    return capital(text);
}

char *dw_describe_raster(const DwRaster *raster)
{
    return dw_describe_raster_in(NULL, raster);
}

static void add_sentence(DwText *text, char *sentence)
{
    dw_text_add(text, " %s", sentence);
    free(sentence);
}

char *dw_describe_sheet(const DwSheet *sheet)
{
    DwText text = {0};
    const char *title = dw_said_label(sheet->title);
    dw_text_add_taken(&text, "", sheet->subject[0] ? dw_say("%s of %s", title, sheet->subject) : dw_memory_text(title));
    DwVerdict verdict = dw_sheet_worst_verdict(sheet);
    if (verdict != DW_VERDICT_NONE)
        dw_text_add(&text, ": %s", dw_said(dw_verdict_word(verdict)));
    dw_text_add(&text, ".");
    for (size_t i = 0; i < sheet->reading_count; i++)
        add_sentence(&text, dw_describe_reading(&sheet->readings[i]));
    if (dw_arm_view_fits(sheet))
        add_sentence(&text, dw_arm_view_words(sheet));
    for (size_t i = 0; i < sheet->table_count; i++)
        if (dw_band_strip_fits(&sheet->tables[i]))
            add_sentence(&text, dw_band_strip_words(&sheet->tables[i]));
    if (dw_side_overview_fits(sheet))
        add_sentence(&text, dw_side_overview_words(sheet));
    for (size_t i = 0; i < sheet->raster_count; i++)
        add_sentence(&text, dw_describe_raster(&sheet->rasters[i]));
    for (size_t i = 0; i < sheet->curve_count; i++)
        add_sentence(&text, dw_describe_curve(&sheet->curves[i]));
    return dw_text_take(&text);
}
