// SPDX-License-Identifier: MIT
// The job's page: what was measured as received and as left, and the two held
// against one another.
#include "base/text.h"
#include "base/tongue.h"
#include "book/job/comparison.h"
#include "book/shop/register.h"
#include "chart/draw/number.h"
#include "web/job/job_page.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// What was read by hand, which the title does not say: "Mains insulation 240 MOhm".
static void write_hand_readings(DwJobView *view, const DwMeasurement *measurement)
{
    DwHtml *html = view->page->html;
    DwRecords readings = {0};
    char number[64];
    dw_record_list(view->request->book, &dw_kept_reading_entity, "measurement_id", measurement->record.id, &readings,
                   NULL);
    for (size_t i = 0; i < readings.count; i++) {
        const DwKeptReading *reading = (const DwKeptReading *)dw_records_at(&readings, i);
        dw_html_element(html, "strong", dw_said_label(reading->label), NULL);
        dw_html_open(html, "span", "class", "number", NULL);
        if (reading->word && *reading->word)
            dw_html_text(html, dw_words(reading->word));
        else {
            dw_html_text(html, dw_text_decimal(number, sizeof number, reading->value, (int)reading->digits));
            dw_html_element(html, "span", dw_number_unit(reading->unit), "class", "unit", NULL);
        }
        dw_html_close(html, "span");
    }
    dw_records_clear(&readings);
}

static void write_measurement(DwJobView *view, const DwMeasurement *measurement)
{
    DwHtml *html = view->page->html;
    char *path = dw_text_format("/sheet/%lld", (long long)measurement->record.id);
    char day[DW_DATE_SIZE];
    dw_moment_day(measurement->at, day);
    dw_html_open(html, "li", NULL);
    dw_html_open(html, "a", "href", path, "class", "card", NULL);
    dw_html_open(html, "span", "class", "headline", NULL);
    if (strcmp(measurement->procedure, DW_MEASUREMENT_BY_HAND) == 0)
        write_hand_readings(view, measurement);
    else {
        dw_html_element(html, "strong", dw_words(measurement->title), NULL);
        dw_html_element(html, "span", measurement->speed, NULL);
    }
    dw_html_close(html, "span");
    dw_html_open(html, "span", "class", "quiet", NULL);
    dw_html_format(html, "%s · %s", day, measurement->who);
    const char *const with[] = {measurement->test_record, measurement->chain, measurement->instrument};
    for (size_t i = 0; i < sizeof with / sizeof *with; i++)
        if (with[i] && *with[i])
            dw_html_format(html, " · %s", with[i]);
    dw_html_close(html, "span");
    dw_html_close(html, "a");
    dw_html_close(html, "li");
    free(path);
}

static void write_measurements(DwJobView *view, DwPhase phase)
{
    DwRecords records = {0};
    dw_measurement_standing(view->request->book, view->job.record.id, &records, NULL);
    dw_html_open(view->page->html, "ul", "class", "cards", NULL);
    for (size_t i = 0; i < records.count; i++) {
        const DwMeasurement *measurement = (const DwMeasurement *)dw_records_at(&records, i);
        if (measurement->phase == (int)phase)
            write_measurement(view, measurement);
    }
    dw_html_close(view->page->html, "ul");
    dw_records_clear(&records);
}

static void write_instruments(DwJobView *view)
{
    DwRecords records = {0};
    const char *names[64] = {""}, *shown[64] = {"–"};
    size_t count = 1;
    dw_record_list(view->request->book, &dw_instrument_entity, NULL, 0, &records, NULL);
    for (size_t i = 0; i < records.count && count < 64; i++, count++)
        names[count] = shown[count] = ((const DwInstrument *)dw_records_at(&records, i))->name;
    dw_form_choice(view->page, "instrument", _("Instrument"), shown, names, count, "", NULL);
    dw_records_clear(&records);
}

static void write_by_hand(DwJobView *view, const char *as)
{
    dw_html_open(view->page->html, "details", "class", "add", NULL);
    dw_html_element(view->page->html, "summary", _("A reading by hand"), NULL);
    dw_job_section_form(view, "reading");
    dw_html_void(view->page->html, "input", "type", "hidden", "name", "as", "value", as, NULL);
    dw_html_open(view->page->html, "div", "class", "fields", NULL);
    dw_form_text(
        view->page, "label", _("What was read"), "", "text",
        _("Tracking force, platter run-out, cover … What a measuring form calls so too can be compared and has "
          "limits."));
    dw_form_text(view->page, "value", _("Reading"), "", "text",
                 _("A number with its unit, such as 1.82 g, or a word."));
    dw_form_text(view->page, "uncertainty", _("Uncertainty"), "", "text",
                 _("Half of the 95 % interval, in the reading's unit; empty when it is not known."));
    write_instruments(view);
    dw_html_close(view->page->html, "div");
    dw_form_button(view->page, _("Keep the reading"));
    dw_form_end(view->page);
    dw_html_close(view->page->html, "details");
}

static void write_reading(DwHtml *html, const DwReading *reading)
{
    char number[64];
    dw_html_open(html, "td", "class", "number", NULL);
    if (!reading)
        dw_html_element(html, "span", _("not measured"), "class", "quiet", NULL);
    else if (reading->word)
        dw_html_text(html, dw_words(reading->word));
    else {
        dw_html_text(html, dw_text_decimal(number, sizeof number, reading->value, reading->digits));
        dw_html_element(html, "span", dw_number_unit(reading->unit), "class", "unit", NULL);
    }
    dw_html_close(html, "td");
}

// Why the two are not compared; where both were measured, what is missing can be supplied.
static void write_obstacle(DwHtml *html, const DwPair *pair)
{
    dw_html_element(html, "span", pair->reason, "class", "quiet", NULL);
    if (!pair->before || !pair->after || strcmp(pair->before_from->procedure, pair->after_from->procedure) != 0)
        return;
    char *path = dw_text_format("/sheet/%lld?with=%lld#supply", (long long)pair->after_from->record.id,
                                (long long)pair->before_from->record.id);
    dw_html_element(html, "a", _("Supply it"), "href", path, NULL);
    free(path);
}

static void write_change(DwHtml *html, const DwPair *pair)
{
    const DwReading *reading = pair->before ? pair->before : pair->after;
    char number[64];
    dw_html_open(html, "td", NULL);
    if (!pair->comparable)
        write_obstacle(html, pair);
    else if (pair->change == DW_CHANGE_NONE)
        dw_html_text(html, _("no measurable change"));
    else if (isfinite(pair->difference)) {
        dw_text_decimal(number, sizeof number, pair->difference, reading->digits);
        dw_html_format(html, "%s%s", pair->difference > 0 ? "+" : "", number);
        dw_html_element(html, "span", dw_number_unit(reading->unit), "class", "unit", NULL);
        if (pair->change == DW_CHANGE_UNKNOWN)
            dw_html_element(html, "small", _("uncertainty not stated"), NULL);
    }
    dw_html_close(html, "td");
}

static void write_pair(DwHtml *html, const DwPair *pair)
{
    const DwReading *reading = pair->before ? pair->before : pair->after;
    const DwMeasurement *from = pair->before ? pair->before_from : pair->after_from;
    dw_html_open(html, "tr", NULL);
    dw_html_open(html, "th", "scope", "row", NULL);
    dw_html_text(html, dw_said_label(reading->label));
    if (*from->speed)
        dw_html_element(html, "small", from->speed, NULL);
    if (*pair->arm)
        dw_html_element(html, "small", pair->arm, NULL);
    dw_html_close(html, "th");
    write_reading(html, pair->before);
    write_reading(html, pair->after);
    write_change(html, pair);
    dw_html_close(html, "tr");
}

// A table of many rows is folded: the papers show it whole.
enum { ROWS_OPEN = 6 };

static void write_comparison(DwJobView *view)
{
    DwComparison comparison;
    DwHtml *html = view->page->html;
    if (dw_comparison_make(view->request->book, view->job.record.id, &comparison, NULL) != DW_OK)
        return;
    if (comparison.count) {
        const char *heads[] = {_("Reading"), _("As received"), _("As left"), _("Change")};
        dw_html_open(html, "details", "class", "add", "open", DW_HTML_IF(comparison.count <= ROWS_OPEN), NULL);
        dw_html_element(html, "summary", _("As received and as left"), NULL);
        dw_html_open(html, "div", "class", "scroll", "tabindex", "0", "role", "region", "aria-label",
                     _("As received and as left"), NULL);
        dw_html_open(html, "table", NULL);
        dw_html_open(html, "thead", NULL);
        dw_html_open(html, "tr", NULL);
        for (size_t i = 0; i < 4; i++)
            dw_html_element(html, "th", heads[i], "scope", "col", "class", i == 1 || i == 2 ? "number" : DW_HTML_NONE,
                            NULL);
        dw_html_close(html, "tr");
        dw_html_close(html, "thead");
        dw_html_open(html, "tbody", NULL);
        for (size_t i = 0; i < comparison.count; i++)
            write_pair(html, &comparison.pairs[i]);
        dw_html_close(html, "tbody");
        dw_html_close(html, "table");
        dw_html_close(html, "div");
        dw_html_close(html, "details");
    }
    dw_comparison_clear(&comparison);
}

static void write_measured(DwJobView *view, DwPhase phase)
{
    bool left = phase == DW_PHASE_AS_LEFT;
    const char *as = left ? "left" : "received";
    char *path = dw_text_format("/measure?job=%04lld&as=%s", (long long)view->job.number, as);
    dw_job_section_begin(view, left ? DW_STATION_AS_LEFT : DW_STATION_AS_RECEIVED);
    write_measurements(view, phase);
    dw_html_open(view->page->html, "div", "class", "acts", NULL);
    dw_page_link(view->page, path, left ? _("Measure as left") : _("Measure as received"));
    dw_html_close(view->page->html, "div");
    write_by_hand(view, as);
    if (left)
        write_comparison(view);
    dw_job_section_end(view);
    free(path);
}

void dw_job_page_as_received(DwJobView *view)
{
    write_measured(view, DW_PHASE_AS_RECEIVED);
}

void dw_job_page_as_left(DwJobView *view)
{
    write_measured(view, DW_PHASE_AS_LEFT);
}
