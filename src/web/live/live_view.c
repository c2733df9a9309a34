// SPDX-License-Identifier: MIT
#include "web/live/pages.h"

#include "base/text.h"
#include "base/tongue.h"
#include "chart/draw/number.h"
#include "chart/draw/theme.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// One figure of the page.
typedef struct {
    DwLiveFigureName name;
    const char *label;
    int digits; // decimals worth reading from two metres
} Gauge;

static const Gauge steadiness[] = {
    {DW_LIVE_WEIGHTED_TWO_SIGMA, N_("Flutter, weighted"), 3},
    {DW_LIVE_UNWEIGHTED_TWO_SIGMA, N_("Flutter, unweighted"), 3},
    {DW_LIVE_ONCE_A_TURN, N_("Once a turn"), 3},
    {DW_LIVE_DRIFT, N_("Drift"), 2},
};
static const Gauge sides[] = {
    {DW_LIVE_SEPARATION_LEFT, N_("Separation, left plays"), 1},
    {DW_LIVE_SEPARATION_RIGHT, N_("Separation, right plays"), 1},
    {DW_LIVE_ROTATION, N_("Tilt"), 2},
    {DW_LIVE_BALANCE, N_("Right over left"), 2},
    {DW_LIVE_POLARITY, N_("Polarity"), 0},
    {DW_LIVE_HUM, N_("Hum over the tone"), 1},
};

const char *dw_live_view_state(const DwLiveSnapshot *snapshot)
{
    return *snapshot->why ? snapshot->why : snapshot->figures.why;
}

// --- one figure ------------------------------------------------------------------

static void write_number(DwPage *page, double value, int digits, bool is_signed, const char *unit)
{
    DwHtml *html = page->html;
    dw_html_element(html, "span", isfinite(value) ? dw_number_print(value, digits, is_signed).text : "–", "data-part",
                    "value", NULL);
    if (*unit)
        dw_html_element(html, "span", dw_number_unit(unit), "class", "unit", "data-part", "unit", NULL);
}

static const char *polarity_word(double value)
{
    return !isfinite(value) ? "–" : value > 0 ? _("in phase") : _("one channel opposed");
}

static void write_said(DwPage *page, const char *words)
{
    dw_html_element(page->html, "span", words, "class", "said", "data-part", "said", NULL);
}

// The tilt as what to do; the script says the same.
static void write_tilt(DwPage *page, double value, int digits)
{
    write_number(page, fabs(value), digits, false, "deg");
    write_said(page, !isfinite(value) ? ""
                     : value > 0      ? _("turn clockwise, seen from the front")
                                      : _("turn anticlockwise, seen from the front"));
}

// The hum, and which line of the mains is the strongest.
static void write_hum(DwPage *page, const DwLiveFigures *figures, double value, int digits, const char *unit)
{
    const DwLiveHumLine *most = NULL;
    for (size_t i = 0; i < DW_LIVE_HUM_LINES; i++)
        if (!figures->hum[i].noisy && (!most || figures->hum[i].amplitude > most->amplitude))
            most = &figures->hum[i];
    write_number(page, value, digits, true, unit);
    char *words = !isfinite(value) ? dw_text_format("%s", "")
                  : most ? dw_text_format(_("strongest at %s Hz"), dw_number_print(most->frequency_hz, 0, false).text)
                         : dw_text_format("%s", _("no line stands out of the noise"));
    write_said(page, words);
    free(words);
}

static void write_limit(DwPage *page, const DwLiveLimit *limit, int digits)
{
    DwHtml *html = page->html;
    char low[48], high[48];
    if (!limit->stated)
        return;
    snprintf(low, sizeof low, "%s", dw_number_print(limit->allowed.low, digits, false).text);
    snprintf(high, sizeof high, "%s", dw_number_print(limit->allowed.high, digits, false).text);
    dw_html_open(html, "small", "data-part", "limit", NULL);
    if (isfinite(limit->allowed.low) && isfinite(limit->allowed.high))
        dw_html_format(html, _("Allowed %s to %s: %s"), low, high, dw_said(limit->source));
    else if (isfinite(limit->allowed.high))
        dw_html_format(html, _("Allowed to %s: %s"), high, dw_said(limit->source));
    else
        dw_html_format(html, _("Allowed from %s: %s"), low, dw_said(limit->source));
    dw_html_close(html, "small");
}

// The rule that the script moves its mark on; nothing without one.
static void write_range(DwHtml *html)
{
    static const char *const parts[] = {"allowed", "good", "was", "whisker", "at"};
    dw_html_open(html, "div", "class", "range-line", "data-part", "range", "aria-hidden", "true", NULL);
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        dw_html_element(html, "span", "", "class", parts[i], NULL);
    dw_html_close(html, "div");
}

// What it was as received, in words; the script draws it as a hollow mark.
static void write_before(DwPage *page, const DwReading *was, int digits, bool is_signed)
{
    char value[48];
    if (!was)
        return;
    snprintf(value, sizeof value, "%.9g", was->value);
    dw_html_open(page->html, "small", "data-part", "before", "data-value", value, NULL);
    dw_html_format(page->html, _("As received: %s%s%s"), dw_number_print(was->value, digits, is_signed).text,
                   dw_number_space(was->unit), dw_number_unit(was->unit));
    dw_html_close(page->html, "small");
}

static void write_gauge(DwPage *page, const DwLiveSnapshot *snapshot, const Gauge *gauge, const DwLiveBefore *before)
{
    const DwLiveFigure *figure = &snapshot->figures.figure[gauge->name];
    const DwLiveFigureKind *kind = dw_live_figure_kind(gauge->name);
    const DwLiveLimit *limit = &snapshot->limit[gauge->name];
    DwHtml *html = page->html;
    char digits[12];
    snprintf(digits, sizeof digits, "%d", gauge->digits);
    dw_html_open(html, "div", "class", figure->stale ? "gauge stale" : "gauge", "data-figure", kind->key, "data-digits",
                 digits, NULL);
    dw_html_element(html, "h3", dw_words(gauge->label), NULL);
    dw_html_open(html, "p", "class", "number", NULL);
    if (gauge->name == DW_LIVE_POLARITY)
        dw_html_element(html, "span", polarity_word(figure->value), "data-part", "value", NULL);
    else if (gauge->name == DW_LIVE_ROTATION)
        write_tilt(page, figure->value, gauge->digits);
    else if (gauge->name == DW_LIVE_HUM)
        write_hum(page, &snapshot->figures, figure->value, gauge->digits, kind->unit);
    else
        write_number(page, figure->value, gauge->digits, gauge->name == DW_LIVE_BALANCE, kind->unit);
    dw_html_close(html, "p");
    write_range(html);
    write_limit(page, limit, gauge->digits);
    if (gauge->name != DW_LIVE_POLARITY)
        write_before(page, dw_live_before_find(before, kind->key), gauge->digits, gauge->name == DW_LIVE_BALANCE);
    // What holds for all stands at the head.
    bool told = strcmp(figure->why, dw_live_view_state(snapshot)) == 0;
    dw_html_element(html, "small", told ? "" : figure->why, "data-part", "why", NULL);
    char *large = dw_text_format(_("Show “%s” large"), dw_words(gauge->label));
    dw_live_pictures_large(page, large);
    free(large);
    dw_html_close(html, "div");
}

static void write_gauges(DwPage *page, const DwLiveSnapshot *snapshot, const Gauge *gauges, size_t count,
                         const DwLiveBefore *before)
{
    dw_html_open(page->html, "div", "class", "gauges", NULL);
    for (size_t i = 0; i < count; i++)
        write_gauge(page, snapshot, &gauges[i], before);
    dw_html_close(page->html, "div");
}

// --- the large figure and the raster ---------------------------------------------

// The colours of the raster from the scale's low end to its high one, for the
// script: the same Oklab scale as in the papers.
static char *palette(DwTheme theme)
{
    enum { STEPS = 40 };
    DwText text = {0};
    for (int i = 0; i <= STEPS; i++) {
        DwColour c = dw_theme_deviation_colour(theme, 2.0 * i / STEPS - 1);
        dw_text_add(&text, "%s%02x%02x%02x", i ? " " : "", (unsigned)lround(255 * c.red),
                    (unsigned)lround(255 * c.green), (unsigned)lround(255 * c.blue));
    }
    return dw_text_take(&text);
}

void dw_live_view_write_raster(DwPage *page, unsigned place)
{
    DwHtml *html = page->html;
    char *light = palette(DW_THEME_LIGHT), *dark = palette(DW_THEME_DARK);
    dw_html_open(html, "section", "class", "raster", "aria-labelledby", dw_live_id(place, "raster-head").text, NULL);
    dw_html_element(html, "h2", _("Turn by turn"), "id", dw_live_id(place, "raster-head").text, NULL);
    dw_html_element(html, "canvas", "", "id", dw_live_id(place, "raster").text, "width", "180", "height", "120", "role",
                    "img", "aria-label", _("No turn was heard yet."), "data-light", light, "data-dark", dark, NULL);
    dw_html_open(html, "div", "class", "raster-foot", NULL);
    dw_html_element(html, "span", "", "id", dw_live_id(place, "scale-low").text, "class", "quiet", NULL);
    dw_html_element(html, "canvas", "", "id", dw_live_id(place, "scale").text, "width", "41", "height", "1",
                    "aria-hidden", "true", NULL);
    dw_html_element(html, "span", "", "id", dw_live_id(place, "scale-high").text, "class", "quiet", NULL);
    dw_html_close(html, "div");
    dw_html_element(html, "small",
                    _("One turn across, the newest at the bottom. Upright stripes come once a turn or in step with it: "
                      "the record, the platter. Slanted ones run at a speed of their own: motor, belt, idler."),
                    NULL);
    dw_html_close(html, "section");
    free(light);
    free(dark);
}

static void write_bar(DwHtml *html, unsigned place)
{
    static const char *const parts[] = {"allowed", "good", "was", "whisker", "now", "at"};
    dw_html_open(html, "div", "id", dw_live_id(place, "bar").text, "class", "range-line bar", "aria-hidden", "true",
                 NULL);
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        dw_html_element(html, "span", "", "class", parts[i], NULL);
    dw_html_close(html, "div");
    dw_html_open(html, "div", "class", "bar-ends quiet", "aria-hidden", "true", NULL);
    dw_html_element(html, "span", "", "id", dw_live_id(place, "bar-low").text, NULL);
    dw_html_element(html, "span", "", "id", dw_live_id(place, "bar-high").text, NULL);
    dw_html_close(html, "div");
}

void dw_live_view_write_speed(DwPage *page, unsigned place, const DwLiveSnapshot *snapshot, const DwLiveBefore *before)
{
    const DwLiveFigure *turn = &snapshot->figures.figure[DW_LIVE_SPEED_TURN];
    DwHtml *html = page->html;
    dw_html_open(html, "section", "class", turn->stale ? "speed stale" : "speed", "id", dw_live_id(place, "speed").text,
                 "aria-label", _("Speed"), NULL);
    dw_html_open(html, "div", "id", dw_live_id(place, "figure").text, "class", "number large-figure", NULL);
    write_number(page, turn->value, 2, true, "%");
    dw_html_close(html, "div");
    dw_html_element(html, "p", turn->stale ? turn->why : _("off nominal, over the last turn"), "id",
                    dw_live_id(place, "figure-over").text, "class", "quiet", NULL);
    write_bar(html, place);
    write_limit(page, &snapshot->limit[DW_LIVE_SPEED_TURN], 2);
    write_before(page, dw_live_before_find(before, "speed.error"), 2, true);
    dw_live_pictures_needle(page, place);
    dw_html_open(html, "div", "class", "acts", "id", dw_live_id(place, "speed-acts").text, NULL);
    dw_live_pictures_large(page, _("Show the speed large"));
    dw_html_close(html, "div");
    dw_html_close(html, "section");
}

// --- the rest ----------------------------------------------------------------------

static void write_clip(DwPage *page, const DwLiveLevel *level)
{
    bool heard = isfinite(level->held_peak_db);
    DwHtml *html = page->html;
    dw_html_open(html, "p", NULL);
    dw_html_element(html, "span", "", "class",
                    !heard           ? "mark untested"
                    : level->clipped ? "mark attention"
                                     : "mark good",
                    "data-part", "mark", NULL);
    dw_html_text(html, " ");
    dw_html_open(html, "span", "data-part", "clipped", NULL);
    if (level->clipped)
        dw_html_format(html, _("%llu samples clipped: turn the gain down"), (unsigned long long)level->clipped);
    else
        dw_html_text(html, heard ? _("not clipped") : _("nothing heard"));
    dw_html_close(html, "span");
    dw_html_close(html, "p");
}

static void write_level(DwPage *page, const DwLiveLevel *level, unsigned channel, const char *name)
{
    DwHtml *html = page->html;
    char number[12];
    snprintf(number, sizeof number, "%u", channel);
    dw_html_open(html, "div", "class", "level", "data-channel", number, NULL);
    dw_html_element(html, "h3", name, "data-part", "name", NULL);
    dw_html_open(html, "p", "class", "number", NULL);
    write_number(page, level->held_peak_db, 1, false, "dB");
    dw_html_element(html, "small", _("highest peak"), NULL);
    dw_html_close(html, "p");
    dw_html_open(html, "div", "class", "meter", "aria-hidden", "true", NULL);
    dw_html_element(html, "span", "", "class", "rms", NULL);
    dw_html_element(html, "span", "", "class", "peak", NULL);
    dw_html_close(html, "div");
    write_clip(page, level);
    dw_html_close(html, "div");
}

static void write_levels(DwPage *page, unsigned place, const DwLiveSnapshot *snapshot)
{
    const DwLiveFigures *figures = &snapshot->figures;
    dw_html_open(page->html, "div", "class", "gauges", "id", dw_live_id(place, "levels").text, NULL);
    write_level(page, &figures->level[0], 0, figures->channels == 1 ? _("One channel") : _("Left"));
    write_level(page, &figures->level[1], 1, _("Right"));
    dw_html_close(page->html, "div");
}

static void write_clock(DwPage *page, unsigned place, const DwLiveClock *clock)
{
    DwHtml *html = page->html;
    dw_html_open(html, "p", "id", dw_live_id(place, "clock").text, NULL);
    if (isfinite(clock->error_ppm))
        dw_html_format(html, _("The input's clock is off by %s ± %s ppm. "),
                       dw_number_print(clock->error_ppm, 1, true).text, dw_number_print(clock->off_ppm, 1, false).text);
    dw_html_text(html, clock->why);
    dw_html_close(html, "p");
}

void dw_live_view_write_rest(DwPage *page, unsigned place, const DwLiveSnapshot *snapshot, const DwLiveBefore *before)
{
    DwHtml *html = page->html;
    dw_html_open(html, "section", "aria-labelledby", dw_live_id(place, "steady-head").text, NULL);
    dw_html_element(html, "h2", _("Steadiness"), "id", dw_live_id(place, "steady-head").text, NULL);
    write_gauges(page, snapshot, steadiness, sizeof steadiness / sizeof *steadiness, before);
    dw_html_close(html, "section");
    dw_html_open(html, "section", "aria-labelledby", dw_live_id(place, "levels-head").text, NULL);
    dw_html_element(html, "h2", _("Level"), "id", dw_live_id(place, "levels-head").text, NULL);
    write_levels(page, place, snapshot);
    dw_html_close(html, "section");
    dw_html_open(html, "section", "aria-labelledby", dw_live_id(place, "sides-head").text, "class", "sides", NULL);
    dw_html_element(html, "h2", _("Sides and azimuth"), "id", dw_live_id(place, "sides-head").text, NULL);
    write_gauges(page, snapshot, sides, sizeof sides / sizeof *sides, before);
    dw_html_close(html, "section");
    dw_html_open(html, "section", "aria-labelledby", dw_live_id(place, "clock-head").text, NULL);
    dw_html_element(html, "h2", _("Clock of the input"), "id", dw_live_id(place, "clock-head").text, NULL);
    write_clock(page, place, &snapshot->clock);
    dw_html_close(html, "section");
}
