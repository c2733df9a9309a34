// SPDX-License-Identifier: MIT
// At the shelf: a belt by its length, and what is to be ordered, checked or let go.
#include "base/text.h"
#include "book/care/erase.h"
#include "book/entry/entry.h"
#include "book/shop/register.h"
#include "book/shop/stock.h"
#include "web/job/pages.h"
#include "web/page/page.h"
#include "web/record/record_form.h"
#include "web/server/words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static void write_search(DwPage *page, const DwStock *wanted)
{
    static const char *const keys[] = {"inner_length_mm", "width_mm", "thickness_mm"};
    const char *labels[] = {_("Inner length (mm)"), _("Width (mm)"), _("Thickness (mm)")};
    DwHtml *html = page->html;
    dw_html_open(html, "form", "method", "get", "action", "/book/belts", NULL);
    dw_html_open(html, "div", "class", "fields", NULL);
    for (size_t i = 0; i < 3; i++) {
        char *value = dw_record_text(page->request->book, &wanted->record, dw_field_find(&dw_stock_entity, keys[i]));
        dw_form_text(page, keys[i], labels[i], value, "text",
                     i ? NULL : _("Of the old belt laid flat: the inner circumference, unstretched."));
        free(value);
    }
    dw_html_close(html, "div");
    dw_form_button(page, _("Find"));
    dw_html_close(html, "form");
}

static void write_difference(DwPage *page, const char *label, double value, double scale, const char *unit)
{
    char number[32];
    if (!isfinite(value))
        return;
    dw_html_open(page->html, "span", "class", "value", NULL);
    dw_html_element(page->html, "span", label, "class", "quiet", NULL);
    dw_html_format(page->html, " %s%s\u202F%s", value > 0 ? "+" : "",
                   dw_text_decimal(number, sizeof number, scale * value, 2), unit);
    dw_html_close(page->html, "span");
}

static void write_match(DwPage *page, const DwBeltMatch *match)
{
    DwHtml *html = page->html;
    char *path = dw_text_format("/book/stock/%lld", (long long)match->stock_id);
    dw_html_open(html, "li", NULL);
    dw_html_open(html, "a", "href", path, "class", "card", NULL);
    dw_html_open(html, "strong", NULL);
    dw_html_format(html, "%s %s", match->number, match->name);
    dw_html_close(html, "strong");
    dw_html_open(html, "span", "class", "values", NULL);
    write_difference(page, _("length"), match->length_deviation, 100, "%");
    write_difference(page, _("width"), match->width_difference_mm, 1, "mm");
    write_difference(page, _("thickness"), match->thickness_difference_mm, 1, "mm");
    dw_html_open(html, "span", "class", "value", NULL);
    dw_html_format(html, _("%g on hand"), match->on_hand);
    dw_html_close(html, "span");
    if (*match->shelf)
        dw_html_element(html, "span", match->shelf, "class", "value", NULL);
    dw_html_close(html, "span");
    dw_html_close(html, "a");
    dw_html_close(html, "li");
    free(path);
}

static void write_matches(DwPage *page, const DwBeltMatches *matches)
{
    dw_html_element(page->html, "h2", _("Belts within 2 % of that length"), NULL);
    if (matches->count == 0)
        dw_html_element(page->html, "p", _("None in the book."), NULL);
    dw_html_open(page->html, "ul", "class", "cards", NULL);
    for (size_t i = 0; i < matches->count; i++)
        write_match(page, &matches->matches[i]);
    dw_html_close(page->html, "ul");
    dw_html_element(page->html, "p",
                    _("In stock first, then the nearest in length, width, thickness. Two per cent of the length is "
                      "common practice; whether a belt runs true on its pulley must be seen, and the speed measured."),
                    "class", "quiet", NULL);
}

static DwStatus read_wanted(const DwWebRequest *request, DwStock *wanted, DwMessage *message)
{
    static const char *const keys[] = {"inner_length_mm", "width_mm", "thickness_mm"};
    DwStatus status = DW_OK;
    for (size_t i = 0; i < 3 && status == DW_OK; i++)
        status = dw_record_set(request->book, &wanted->record, keys[i], dw_request_query(request, keys[i]), message);
    return status;
}

static DwAnswer show_belts(const DwWebRequest *request)
{
    DwAnswer answer;
    DwStock wanted;
    DwBeltMatches matches = {0};
    DwMessage message;
    dw_record_init(&wanted.record, &dw_stock_entity);
    bool asked = *dw_request_query(request, "inner_length_mm") != '\0';
    DwStatus status = read_wanted(request, &wanted, &message);
    if (status == DW_OK && asked)
        status = dw_stock_belts(request->book, DW_BELT_NONE, wanted.inner_length_mm, wanted.width_mm,
                                wanted.thickness_mm, DW_BELT_TOLERANCE, &matches, &message);
    if (status != DW_OK)
        answer = dw_answer_trouble(status, &message);
    else {
        DwPage *page =
            dw_page_begin(request, &(DwPageHead){.title = _("Belts"), .style = "job.css", .room = DW_ROOM_BOOK});
        dw_html_element(page->html, "a", _("The book"), "href", "/book", "class", "back", NULL);
        dw_html_element(page->html, "h1", _("Find a belt"), NULL);
        write_search(page, &wanted);
        if (asked)
            write_matches(page, &matches);
        answer = dw_page_end(page);
    }
    dw_belt_matches_clear(&matches);
    dw_record_clear(&wanted.record);
    return answer;
}

static void write_reorder(DwPage *page)
{
    DwRecords stock = {0};
    dw_html_element(page->html, "h2", _("To be ordered"), NULL);
    if (dw_stock_reorder(page->request->book, &stock, NULL) == DW_OK && stock.count)
        dw_record_form_links(page, &stock);
    else
        dw_html_element(page->html, "p", _("Nothing is at its least quantity."), "class", "quiet", NULL);
    dw_records_clear(&stock);
}

static const char *state_words(DwCheckState state)
{
    switch (state) {
    case DW_CHECK_NEVER:
        return _("was never checked");
    case DW_CHECK_OVERDUE:
        return _("is overdue for a check");
    case DW_CHECK_FAILED:
        return _("failed its last check");
    case DW_CHECK_NOT_NEEDED:
    case DW_CHECK_VALID:
        return NULL;
    }
    return NULL;
}

static void write_checks(DwPage *page)
{
    DwRecords instruments = {0};
    size_t due = 0;
    dw_html_element(page->html, "h2", _("To be checked"), NULL);
    dw_record_list(page->request->book, &dw_instrument_entity, NULL, 0, &instruments, NULL);
    dw_html_open(page->html, "ul", "class", "cards", NULL);
    for (size_t i = 0; i < instruments.count; i++) {
        const DwInstrument *instrument = (const DwInstrument *)dw_records_at(&instruments, i);
        DwCheckState state = DW_CHECK_VALID;
        char day[DW_DATE_SIZE];
        dw_instrument_state(page->request->book, instrument->record.id, &state, day, NULL);
        const char *words = instrument->retired_on ? NULL : state_words(state);
        if (!words)
            continue;
        char *path = dw_text_format("/book/instrument/%lld", (long long)instrument->record.id);
        dw_html_open(page->html, "li", NULL);
        dw_html_open(page->html, "a", "href", path, "class", "card", NULL);
        dw_html_element(page->html, "strong", instrument->name, NULL);
        dw_html_element(page->html, "span", words, NULL);
        dw_html_close(page->html, "a");
        dw_html_close(page->html, "li");
        free(path);
        due++;
    }
    dw_html_close(page->html, "ul");
    if (!due)
        dw_html_element(page->html, "p", _("No instrument is due."), "class", "quiet", NULL);
    dw_records_clear(&instruments);
}

static void write_to_let_go(DwPage *page)
{
    DwDueList due = {0};
    DwHtml *html = page->html;
    dw_html_element(html, "h2", _("Due for deletion"), NULL);
    if (dw_due_list_read(page->request->book, &due, NULL) != DW_OK || due.count == 0)
        dw_html_element(html, "p", _("Nothing is kept longer than the shop has set."), "class", "quiet", NULL);
    dw_html_open(html, "ul", "class", "cards", NULL);
    for (size_t i = 0; i < due.count; i++) {
        const DwDue *item = &due.items[i];
        char *path = dw_text_format("/book/%s/%lld", item->entity->name, (long long)item->id);
        dw_html_open(html, "li", NULL);
        dw_html_open(html, "a", "href", path, "class", "card", NULL);
        dw_html_element(html, "strong", item->what, NULL);
        dw_html_element(html, "span", item->why, NULL);
        dw_html_close(html, "a");
        dw_html_close(html, "li");
        free(path);
    }
    dw_html_close(html, "ul");
    dw_due_list_clear(&due);
}

static DwAnswer show_due(const DwWebRequest *request)
{
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = _("Due"), .style = "job.css", .room = DW_ROOM_BOOK});
    dw_html_element(page->html, "a", _("The book"), "href", "/book", "class", "back", NULL);
    dw_html_element(page->html, "h1", _("What is due"), NULL);
    write_reorder(page);
    write_checks(page);
    write_to_let_go(page);
    return dw_page_end(page);
}

const DwWebRoute dw_routes_belt[] = {
    {"GET", "/book/belts", show_belts, false},
    {"GET", "/book/due", show_due, false},
    {0},
};
