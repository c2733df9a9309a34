// SPDX-License-Identifier: MIT
#include "chart/describe.h"

#include "base/text.h"
#include "chart/number.h"
#include "chart/rhythm.h"
#include "chart/scale.h"

#include <ctype.h>
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

static void add_limit(DwText *text, const DwReading *reading)
{
    const DwLimit *limit = reading->limit;
    bool is_signed = limit->low < 0;
    if (isfinite(limit->low) && isfinite(limit->high)) {
        dw_text_add(text, ", allowed from ");
        add_value(text, limit->low, reading->digits, is_signed, reading->unit);
        dw_text_add(text, " to ");
        add_value(text, limit->high, reading->digits, is_signed, reading->unit);
    } else if (isfinite(limit->low) || isfinite(limit->high)) {
        bool above = isfinite(limit->low);
        dw_text_add(text, above ? ", allowed from " : ", allowed up to ");
        add_value(text, above ? limit->low : limit->high, reading->digits, is_signed, reading->unit);
        dw_text_add(text, above ? " up" : "");
    }
    if (limit->source && limit->source[0])
        dw_text_add(text, " (%s)", limit->source);
}

// Labels may begin small; sentences do not.
static char *take_sentence(DwText *text)
{
    char *sentence = dw_text_take(text);
    sentence[0] = (char)toupper((unsigned char)sentence[0]);
    return sentence;
}

char *dw_describe_reading(const DwReading *reading)
{
    DwText text = {0};
    bool is_signed = reading->limit && reading->limit->low < 0;
    dw_text_add(&text, "%s", reading->label);
    if (reading->word)
        dw_text_add(&text, ": %s", reading->word);
    else if (!isfinite(reading->value))
        dw_text_add(&text, " could not be determined");
    else {
        dw_text_add(&text, " is ");
        add_value(&text, reading->value, reading->digits, is_signed, reading->unit);
        if (reading->uncertainty > 0) {
            dw_text_add(&text, " ± ");
            add_value(&text, reading->uncertainty, reading->digits, false, reading->unit);
        }
        if (reading->limit)
            add_limit(&text, reading);
    }
    if (reading->verdict != DW_VERDICT_NONE)
        dw_text_add(&text, ": %s", dw_verdict_word(reading->verdict));
    const char *between = "; doubtful because ";
    for (int bit = 0; bit < DW_FLAG_COUNT; bit++) {
        if (!(reading->flags & 1u << bit))
            continue;
        dw_text_add(&text, "%s%s", between, dw_flag_word((DwFlag)(1u << bit)));
        between = ", ";
    }
    dw_text_add(&text, ".");
    return take_sentence(&text);
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

static void add_ends(DwText *text, const DwCurve *curve, Extent extent)
{
    double low = curve->y_values[extent.lowest], high = curve->y_values[extent.highest];
    if (low == high) {
        dw_text_add(text, " stays at ");
        add_value(text, low, extent.digits, false, curve->y.unit);
        return;
    }
    dw_text_add(text, " stays between ");
    add_value(text, low, extent.digits, low < 0, curve->y.unit);
    dw_text_add(text, " and ");
    add_value(text, high, extent.digits, low < 0, curve->y.unit);
}

static void add_over_time(DwText *text, const DwCurve *curve, Extent extent)
{
    dw_text_add(text, " over ");
    add_plain(text, curve->x_values[extent.last] - curve->x_values[extent.first], curve->x.unit);
    add_ends(text, curve, extent);
    double share = 0;
    double period = dw_rhythm_period(curve->x_values, curve->y_values, curve->count, &share);
    if (isfinite(period) && share >= share_worth_naming) {
        dw_text_add(text, "; its strongest rhythm comes once per ");
        add_plain(text, period, curve->x.unit);
    }
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

static void add_over_frequency(DwText *text, const DwCurve *curve, Extent extent)
{
    dw_text_add(text, " from ");
    add_plain(text, curve->x_values[extent.first], curve->x.unit);
    dw_text_add(text, " to ");
    add_plain(text, curve->x_values[extent.last], curve->x.unit);
    dw_text_add(text, " is largest at ");
    size_t peak = extent.highest;
    double highest = curve->y_values[peak];
    for (size_t i = 0; i < PEAKS_NAMED && peak < curve->count; i++) {
        dw_text_add(text, "%s", i > 0 ? ", then " : "");
        add_plain(text, curve->x_values[peak], curve->x.unit);
        dw_text_add(text, " with ");
        add_plain(text, curve->y_values[peak], curve->y.unit);
        peak = next_peak(curve, highest, curve->y_values[peak], peak);
    }
}

// Where the line between finite neighbours passes through zero.
static void add_crossings(DwText *text, const DwCurve *curve)
{
    size_t named = 0;
    for (size_t i = 0; i + 1 < curve->count && named <= CROSSINGS_NAMED; i++) {
        double here = curve->y_values[i], next = curve->y_values[i + 1];
        if (!((here < 0 && next >= 0) || (here > 0 && next <= 0)))
            continue;
        double at = curve->x_values[i] + here / (here - next) * (curve->x_values[i + 1] - curve->x_values[i]);
        if (named == CROSSINGS_NAMED)
            dw_text_add(text, " and elsewhere");
        else {
            dw_text_add(text, named == 0 ? "; zero at " : ", ");
            add_plain(text, at, curve->x.unit);
        }
        named++;
    }
}

static void add_otherwise(DwText *text, const DwCurve *curve, Extent extent)
{
    add_ends(text, curve, extent);
    if (extent.highest != extent.lowest) {
        dw_text_add(text, " (lowest at ");
        add_plain(text, curve->x_values[extent.lowest], curve->x.unit);
        dw_text_add(text, ", highest at ");
        add_plain(text, curve->x_values[extent.highest], curve->x.unit);
        dw_text_add(text, ")");
    }
    add_crossings(text, curve);
}

char *dw_describe_curve(const DwCurve *curve)
{
    DwText text = {0};
    Extent extent = extent_of(curve);
    dw_text_add(&text, "%s", curve->label);
    if (extent.used == 0)
        dw_text_add(&text, " holds no measured point");
    else if (strcmp(curve->x.unit, "s") == 0)
        add_over_time(&text, curve, extent);
    else if (strcmp(curve->x.unit, "Hz") == 0 && curve->y_values[extent.highest] > 0 &&
             curve->y_values[extent.lowest] >= 0)
        add_over_frequency(&text, curve, extent);
    else
        add_otherwise(&text, curve, extent);
    dw_text_add(&text, ".");
    return take_sentence(&text);
}

static void add_slant(DwText *text, const DwRaster *raster, double shift)
{
    double turn = fabs(shift / (double)raster->columns * raster->across_span);
    dw_text_add(text, "slants by about ");
    add_value(text, turn, turn < 2 ? 1 : 0, false, raster->across.unit);
    dw_text_add(text, " to the %s a row", shift > 0 ? "right" : "left");
}

static void add_pattern(DwText *text, const DwRaster *raster)
{
    if (raster->rows < 3)
        return;
    DwRowPattern pattern = dw_rhythm_rows(raster);
    bool is_upright = pattern.upright > fmax(share_worth_naming, 3.0 / (double)raster->rows);
    bool is_slanted = pattern.likeness >= likeness_worth_naming && pattern.shift != 0;
    if (is_upright) {
        dw_text_add(text, "; %.0f\u202f%% of its variance stands upright from row to row", 100 * pattern.upright);
        // A small rest may slant without mattering.
        if (is_slanted && pattern.upright < 0.95) {
            dw_text_add(text, ", the rest ");
            add_slant(text, raster, pattern.shift);
        }
    } else if (is_slanted) {
        dw_text_add(text, "; its pattern ");
        add_slant(text, raster, pattern.shift);
    } else
        dw_text_add(text, "; no pattern repeats from row to row");
}

char *dw_describe_raster(const DwRaster *raster)
{
    DwText text = {0};
    DwRange range = dw_scale_nothing();
    size_t count = raster->rows * raster->columns, used = 0;
    for (size_t i = 0; i < count; i++) {
        if (!isfinite(raster->values[i]))
            continue;
        range = dw_scale_widen(range, raster->values[i]);
        used++;
    }
    dw_text_add(&text, "%s, %zu row%s", raster->label, raster->rows, raster->rows == 1 ? "" : "s");
    if (used == 0)
        dw_text_add(&text, ", holds no measured place");
    else {
        int digits = dw_number_digits(fmax(fabs(range.low), fabs(range.high)));
        dw_text_add(&text, ", lies between ");
        add_value(&text, range.low, digits, range.low < 0, raster->unit);
        dw_text_add(&text, " and ");
        add_value(&text, range.high, digits, range.low < 0, raster->unit);
        add_pattern(&text, raster);
        if (used < count)
            dw_text_add(&text, "; %.0f\u202f%% of it was not measured",
                        fmax(1, 100 * (double)(count - used) / (double)count));
    }
    dw_text_add(&text, ".");
    return take_sentence(&text);
}

static void add_sentence(DwText *text, char *sentence)
{
    dw_text_add(text, " %s", sentence);
    free(sentence);
}

char *dw_describe_sheet(const DwSheet *sheet)
{
    DwText text = {0};
    dw_text_add(&text, "%s", sheet->title);
    if (sheet->subject[0])
        dw_text_add(&text, " of %s", sheet->subject);
    DwVerdict verdict = dw_sheet_worst_verdict(sheet);
    if (verdict != DW_VERDICT_NONE)
        dw_text_add(&text, ": %s", dw_verdict_word(verdict));
    dw_text_add(&text, ".");
    for (size_t i = 0; i < sheet->reading_count; i++)
        add_sentence(&text, dw_describe_reading(&sheet->readings[i]));
    for (size_t i = 0; i < sheet->raster_count; i++)
        add_sentence(&text, dw_describe_raster(&sheet->rasters[i]));
    for (size_t i = 0; i < sheet->curve_count; i++)
        add_sentence(&text, dw_describe_curve(&sheet->curves[i]));
    return dw_text_take(&text);
}
