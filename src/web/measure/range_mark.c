// SPDX-License-Identifier: MIT
#include "web/measure/sheet_view.h"

#include "chart/draw/mark.h"
#include "chart/sheet/describe.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

// In units of the drawing, which is as wide as its column.
static const double width = 320, middle = 16, inset = 12;

bool dw_range_mark_is_wanted(const DwReading *reading, double before)
{
    return !reading->word && isfinite(reading->value) && (reading->limit || isfinite(before));
}

typedef struct {
    char text[24];
} Length;

static Length length(double value)
{
    Length made;
    snprintf(made.text, sizeof made.text, "%.1f", value);
    return made;
}

static void add_bar(DwHtml *html, const char *class, double from, double to, double thick)
{
    dw_html_element(html, "rect", "", "class", class, "x", length(from).text, "y", length(middle - thick / 2).text,
                    "width", length(fmax(0, to - from)).text, "height", length(thick).text, NULL);
}

// A bar from LOW to HIGH; an end that is open runs on to the rule's end.
static void add_range(DwHtml *html, const char *class, const DwScale *scale, double low, double high, double thick)
{
    double from = isnan(low) ? scale->from : fmax(scale->from, dw_scale_place(scale, low));
    double to = isnan(high) ? scale->to : fmin(scale->to, dw_scale_place(scale, high));
    add_bar(html, class, from, to, thick);
}

static void add_disc(DwHtml *html, const char *class, double x, double radius)
{
    dw_html_element(html, "circle", "", "class", class, "cx", length(x).text, "cy", length(middle).text, "r",
                    length(radius).text, NULL);
}

static void add_whisker(DwHtml *html, const DwScale *scale, const DwReading *reading)
{
    if (!(reading->uncertainty > 0))
        return;
    double from = dw_scale_place(scale, reading->value - reading->uncertainty);
    double to = dw_scale_place(scale, reading->value + reading->uncertainty);
    char path[120];
    snprintf(path, sizeof path, "M%.1f %.1fH%.1fM%.1f %.1fv10M%.1f %.1fv10", from, middle, to, from, middle - 5, to,
             middle - 5);
    dw_html_element(html, "path", "", "class", "whisker", "d", path, NULL);
}

void dw_range_mark_write(DwHtml *html, const DwReading *reading, double before)
{
    DwScale scale = dw_mark_range_scale(reading, before, inset, width - inset);
    const DwLimit *limit = reading->limit;
    char *sentence = dw_describe_reading(reading);
    dw_html_open(html, "svg", "class", "range", "viewBox", "0 0 320 32", "role", "img", "aria-label", sentence, NULL);
    free(sentence);
    add_bar(html, "rule", scale.from, scale.to, 1.5);
    if (limit) {
        bool has_good = !isnan(limit->good_low) || !isnan(limit->good_high);
        add_range(html, has_good ? "allowed" : "good", &scale, limit->low, limit->high, 5);
        if (has_good)
            add_range(html, "good", &scale, limit->good_low, limit->good_high, 8);
    }
    if (isfinite(before))
        add_disc(html, "before", dw_scale_place(&scale, before), 6);
    add_disc(html, "value", dw_scale_place(&scale, reading->value), 7);
    add_whisker(html, &scale, reading);
    dw_html_close(html, "svg");
}
