// SPDX-License-Identifier: MIT
#include "chart/sheet/form_drawing.h"

#include "base/text.h"
#include "base/tongue.h"
#include "chart/draw/number.h"

#include <math.h>
#include <stdlib.h>

// --- startup: the speed as it rises -------------------------------------------------------------

void dw_form_draw_startup(const DwFormDrawing *view)
{
    enum { POINTS = 60 };
    const DwBox *box = &view->box;
    double em = view->canvas->em, band = dw_form_given(view, "startup.band", "%"),
           speed = dw_form_given(view, "deck.speed", "rpm");
    double left = box->x + 2 * em, right = box->x + box->width - 2 * em, floor_y = box->y + box->height - 2.4 * em,
           final = box->y + 3.4 * em, rise = floor_y - final;
    // The band is drawn at least so wide that it is seen.
    double half = fmax(rise * (isfinite(band) ? fmin(band, 20) : 1) / 100, 0.35 * em);
    dw_dimension_stroke(view->canvas, (DwSpot){left, final}, (DwSpot){right, final}, 2 * half, false, DW_INK_LINE);
    dw_form_line(view, (DwSpot){left, floor_y}, (DwSpot){right, floor_y}, false, DW_INK_QUIET);
    DwSpot from = {left, floor_y};
    for (int i = 1; i <= POINTS; i++) {
        double part = (double)i / POINTS;
        DwSpot to = {left + (right - left) * part, floor_y - rise * (1 - exp(-5 * part) * cos(6 * part))};
        dw_form_line(view, from, to, false, DW_INK_ACCENT);
        from = to;
    }
    dw_form_label(view, right, final - half - em, 1, DW_INK_TEXT, dw_form_value("final speed", speed, "rpm"));
    dw_form_label(view, right, final + half + 1.2 * em, 1, DW_INK_TEXT, dw_form_value("reached within ±", band, "%"));
    dw_form_label(view, left, floor_y + 1.2 * em, 0, DW_INK_QUIET, dw_say("at rest"));
    dw_form_label(view, right, floor_y + 1.2 * em, 1, DW_INK_QUIET, dw_say("seconds"));
}

// --- ratio: the two speeds ------------------------------------------------------------------------

void dw_form_draw_ratio(const DwFormDrawing *view)
{
    const DwBox *box = &view->box;
    double em = view->canvas->em, first = dw_form_given(view, "ratio.first", "rpm"),
           second = dw_form_given(view, "ratio.second", "rpm"), left = box->x + 2 * em, wide = box->width - 4 * em;
    double most = 1.1 * fmax(isfinite(first) ? first : 33.3, isfinite(second) ? second : 45),
           y[] = {box->y + 0.36 * box->height, box->y + 0.72 * box->height};
    const double speeds[] = {first, second};
    for (int i = 0; i < 2; i++) {
        dw_form_line(view, (DwSpot){left, y[i]}, (DwSpot){left + wide, y[i]}, false, DW_INK_LINE);
        if (isfinite(speeds[i]))
            dw_dimension_stroke(view->canvas, (DwSpot){left, y[i]}, (DwSpot){left + wide * speeds[i] / most, y[i]},
                                0.7 * em, false, DW_INK_ACCENT);
        dw_form_label(view, left, y[i] - 1.3 * em, 0, DW_INK_TEXT,
                      dw_form_value(i ? "second speed" : "first speed", speeds[i], "rpm"));
    }
}

// --- takes: the recording as a strip of its seconds ----------------------------------------------

// The bands that a form may name.
static const struct {
    const char *key, *name;
} bands[] = {{"channels.left", "left"},
             {"channels.right", "right"},
             {"channels.both", "both"},
             {"channels.vertical", "vertical"},
             {"noise.reference", "reference"}};
enum { BANDS = sizeof bands / sizeof *bands };

static bool read_band(const DwFormDrawing *view, const char *key, double *from, double *to)
{
    return dw_inputs_count(view->inputs, key) && dw_inputs_pair_in(view->inputs, key, 0, "s", "s", from, to) &&
           *to > *from;
}

// The last second that anything names, or a minute.
double dw_form_last_second(const DwFormDrawing *view)
{
    double last = dw_form_given(view, "record.end", "s"), from, to;
    if (isfinite(last))
        return last;
    last = 0;
    for (size_t i = 0; i < BANDS; i++)
        if (read_band(view, bands[i].key, &from, &to))
            last = fmax(last, 1.15 * to);
    return last > 0 ? last : 60;
}

DwFormStrip dw_form_strip(const DwFormDrawing *view, double y, double last)
{
    const DwBox *box = &view->box;
    double em = view->canvas->em, start = dw_form_given(view, "record.start", "s"),
           end = dw_form_given(view, "record.end", "s");
    DwFormStrip strip = {box->x + 2 * em, (box->width - 4 * em) / last, y};
    dw_form_rectangle(view, (DwBox){strip.left, strip.y - em, last * strip.scale, 2 * em}, DW_INK_LINE);
    double used = isfinite(start) ? fmin(fmax(start, 0), last) : 0;
    dw_dimension_stroke(view->canvas, (DwSpot){strip.left + used * strip.scale, strip.y + 2.2 * em},
                        (DwSpot){strip.left + last * strip.scale, strip.y + 2.2 * em}, 0.3 * em, false, DW_INK_TEXT);
    dw_form_label(view, strip.left + used * strip.scale, strip.y + 3.6 * em, used * strip.scale < 6 * em ? 0 : 0.5,
                  DW_INK_QUIET,
                  isfinite(start) ? dw_form_value("used from", start, "s") : dw_say("used from its beginning"));
    dw_form_label(view, strip.left + last * strip.scale, strip.y + 3.6 * em, 1, DW_INK_QUIET,
                  isfinite(end) ? dw_form_value("to", end, "s") : dw_say("to its end"));
    return strip;
}

void dw_form_draw_take(const DwFormDrawing *view)
{
    double em = view->canvas->em, last = dw_form_last_second(view), from, to;
    DwFormStrip strip = dw_form_strip(view, view->box.y + 0.55 * view->box.height, last);
    bool any = false;
    for (size_t i = 0; i < BANDS; i++) {
        if (!read_band(view, bands[i].key, &from, &to))
            continue;
        any = true;
        double x = strip.left + fmin(from, last) * strip.scale,
               wide = (fmin(to, last) - fmin(from, last)) * strip.scale;
        dw_dimension_stroke(view->canvas, (DwSpot){x, strip.y}, (DwSpot){x + wide, strip.y}, 1.6 * em, false,
                            DW_INK_ACCENT);
        dw_form_label(view, x + wide / 2, strip.y - (i % 2 ? 3.4 : 2) * em, 0.5, DW_INK_TEXT,
                      dw_text_format("%s", dw_said(bands[i].name)));
    }
    double low = dw_form_given(view, "intermod.low", "Hz"), high = dw_form_given(view, "intermod.high", "Hz");
    if (isfinite(low) || isfinite(high)) {
        any = true;
        dw_form_label(view, strip.left, strip.y - 2 * em, 0, DW_INK_TEXT, dw_form_value("low tone", low, "Hz"));
        dw_form_label(view, view->box.x + view->box.width - 2 * em, strip.y - 2 * em, 1, DW_INK_TEXT,
                      dw_form_value("high tone", high, "Hz"));
    }
    if (!any)
        dw_form_label(view, view->box.x + view->box.width / 2, strip.y - 2 * em, 0.5, DW_INK_QUIET,
                      dw_say("bands are found by their content"));
}

// --- steps: louder and louder ----------------------------------------------------------------------

enum { STEPS_MOST = 16 };

// The levels of the steps and where they begin, as far as it is said. Returned: how many.
static size_t read_steps(const DwFormDrawing *view, double levels[STEPS_MOST], double starts[STEPS_MOST])
{
    size_t count = dw_inputs_count(view->inputs, "tracking.step"),
           plain = dw_inputs_count(view->inputs, "tracking.level");
    size_t taken = 0;
    for (size_t i = 0; i < count && taken < STEPS_MOST; i++)
        if (dw_inputs_pair_in(view->inputs, "tracking.step", i, "", "s", &levels[taken], &starts[taken]))
            taken++;
    for (size_t i = 0; !count && i < plain && taken < STEPS_MOST; i++) {
        levels[taken] = dw_inputs_in_at(view->inputs, "tracking.level", i, "");
        starts[taken++] = NAN;
    }
    return taken;
}

void dw_form_draw_steps(const DwFormDrawing *view)
{
    const DwBox *box = &view->box;
    double em = view->canvas->em, levels[STEPS_MOST] = {1, 2, 3, 4}, starts[STEPS_MOST] = {NAN, NAN, NAN, NAN};
    size_t given = read_steps(view, levels, starts), count = given ? given : 4;
    double floor_y = box->y + box->height - 3.2 * em, wide = (box->width - 4 * em) / (double)count, most = 0, least = 0;
    for (size_t i = 0; i < count; i++) {
        most = fmax(most, levels[i]);
        least = fmin(least, levels[i]);
    }
    double scale = (box->height - 6.4 * em) / fmax(most - least, 1e-9);
    for (size_t i = 0; i < count; i++) {
        double x = box->x + 2 * em + (double)i * wide, high = fmax((levels[i] - least) * scale, 0.4 * em);
        dw_form_rectangle(view, (DwBox){x, floor_y - high, 0.8 * wide, high}, given ? DW_INK_ACCENT : DW_INK_LINE);
        dw_form_label(view, x + 0.4 * wide, floor_y - high - em, 0.5, DW_INK_TEXT,
                      dw_text_format("%s", given ? dw_number_print(levels[i], -1, false).text : "?"));
        if (isfinite(starts[i]))
            dw_form_label(view, x, floor_y + 1.2 * em, 0, DW_INK_QUIET, dw_form_value("", starts[i], "s"));
    }
    if (!given)
        dw_form_label(view, box->x + 2 * em, floor_y + 1.4 * em, 0, DW_INK_QUIET,
                      dw_say("the engraved level of each step"));
}
