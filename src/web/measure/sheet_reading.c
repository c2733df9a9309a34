// SPDX-License-Identifier: MIT
#include "web/measure/sheet_view.h"

#include "base/text.h"
#include "base/tongue.h"
#include "book/job/comparison.h"
#include "chart/draw/number.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

char *dw_sheet_reading_doubts(const DwReading *reading)
{
    DwText text = {0};
    for (int bit = 0; bit < DW_FLAG_COUNT; bit++)
        if (reading->flags & 1u << bit)
            dw_text_add(&text, "%s%s", text.length ? ", " : "", dw_words(dw_flag_word((DwFlag)(1u << bit))));
    return text.length ? dw_text_take(&text) : dw_text_format("%s", "");
}

void dw_sheet_reading_write_value(DwPage *page, const DwReading *reading)
{
    DwHtml *html = page->html;
    if (reading->word) {
        dw_sheet_say_words(html, "span", reading->word, "said");
        return;
    }
    dw_html_element(html, "span", dw_number_print(reading->value, reading->digits, dw_number_signed(reading)).text,
                    "class", "number", NULL);
    if (isfinite(reading->value) && *reading->unit) {
        dw_html_text(html, dw_number_space(reading->unit));
        dw_html_element(html, "span", dw_number_unit(reading->unit), "class", "unit", NULL);
    }
    if (isfinite(reading->value) && reading->uncertainty > 0) {
        dw_html_open(html, "span", "class", "doubt", NULL);
        dw_html_format(
            html, " ± %s",
            dw_number_print(reading->uncertainty, dw_text_doubt_decimals(reading->uncertainty, reading->digits), false)
                .text);
        dw_html_close(html, "span");
    }
}

// "−0.30 to 0.30 %": what is allowed; the caller frees it.
static char *limit_words(const DwReading *reading)
{
    const DwLimit *limit = reading->limit;
    DwNumber low = dw_number_print(limit->low, reading->digits, dw_number_signed(reading)),
             high = dw_number_print(limit->high, reading->digits, dw_number_signed(reading));
    const char *space = dw_number_space(reading->unit), *unit = dw_number_unit(reading->unit);
    if (isfinite(limit->low) && isfinite(limit->high))
        return dw_text_format(_("Allowed %s to %s%s%s"), low.text, high.text, space, unit);
    if (isfinite(limit->high))
        return dw_text_format(_("Allowed up to %s%s%s"), high.text, space, unit);
    return dw_text_format(_("Allowed from %s%s%s up"), low.text, space, unit);
}

// Where nothing on the sheet has a limit, it was computed and there is none to miss.
static bool any_limit(const DwSheet *sheet)
{
    for (size_t i = 0; i < sheet->reading_count; i++)
        if (sheet->readings[i].limit)
            return true;
    return false;
}

static void write_limit(DwPage *page, const DwSheet *sheet, const DwReading *reading)
{
    DwHtml *html = page->html;
    dw_html_open(html, "small", NULL);
    if (reading->limit) {
        char *words = limit_words(reading);
        const char *source = reading->limit->source;
        dw_html_format(html, "%s%s%s%s. ", words, source && *source ? " (" : "", source ? dw_words(source) : "",
                       source && *source ? ")" : "");
        free(words);
    } else if (!reading->word && isfinite(reading->value) && any_limit(sheet))
        dw_html_text(html, _("No limit set. "));
    if (reading->method && *reading->method)
        dw_html_format(html, _("Method: %s."), dw_said_label(reading->method));
    dw_html_close(html, "small");
}

// What it was as received and whether it changed, or why that cannot be said.
static void write_change(DwPage *page, const DwReading *reading, const DwPair *pair)
{
    DwHtml *html = page->html;
    dw_html_open(html, "p", "class", "change", NULL);
    if (pair->before) {
        dw_html_text(html, _("As received: "));
        dw_sheet_reading_write_value(page, pair->before);
        dw_html_text(html, ". ");
    }
    if (!pair->comparable)
        dw_html_format(html, _("Not comparable: %s"), pair->reason);
    else if (pair->change == DW_CHANGE_NONE)
        dw_html_text(html, reading->word ? _("Unchanged.") : _("No change beyond the uncertainties."));
    else if (reading->word)
        dw_html_text(html, _("Changed."));
    else
        dw_html_format(html,
                       pair->change == DW_CHANGE_REAL ? _("Changed by %s%s%s, more than the uncertainties.")
                                                      : _("Changed by %s%s%s; the uncertainties are not known."),
                       dw_number_print(pair->difference, reading->digits, true).text, dw_number_space(reading->unit),
                       dw_number_unit(reading->unit));
    dw_html_close(html, "p");
}

void dw_sheet_reading_write_large(DwPage *page, const DwSheetView *view, const DwReading *reading)
{
    DwHtml *html = page->html;
    DwPair pair = {0};
    if (view->before)
        dw_comparison_of(view->before_from, view->before, view->from, view->sheet, reading->key, &pair);
    double before = pair.comparable && !pair.before->word ? pair.before->value : NAN;
    char *doubts = dw_sheet_reading_doubts(reading);
    dw_html_open(html, "div", "class", "reading", NULL);
    dw_sheet_say_words(html, "h2", reading->label, NULL);
    dw_page_verdict(page, reading->verdict);
    dw_html_open(html, "p", "class", "figure", NULL);
    dw_sheet_reading_write_value(page, reading);
    dw_html_close(html, "p");
    if (dw_range_mark_is_wanted(reading, before))
        dw_range_mark_write(html, reading, before);
    write_limit(page, view->sheet, reading);
    if (*doubts)
        dw_html_format(html, _("Doubtful: %s."), doubts);
    if (view->before)
        write_change(page, reading, &pair);
    dw_html_close(html, "div");
    free(doubts);
    free(pair.reason);
}
