// SPDX-License-Identifier: MIT
// Two customers or two decks that are one: what would be joined is shown first.
#include "base/memory.h"
#include "base/text.h"
#include "book/entry/entry.h"
#include "book/entry/twin.h"
#include "web/page/kept.h"
#include "web/page/page.h"
#include "web/record/pages.h"
#include "web/record/record_form.h"
#include "web/server/words.h"

#include <stdlib.h>
#include <string.h>

// The record that goes and the one that stays.
typedef struct {
    const DwWebRequest *request;
    DwRecord *from, *into;
} Merge;

static DwRecord *load(const DwWebRequest *request, int64_t id, DwAnswer *refusal)
{
    const DwEntity *entity = dw_entity_find(dw_request_path(request, "entity"));
    DwMessage message;
    if (!entity) {
        *refusal = dw_answer_refusal(404, _("The book keeps nothing of that name."));
        return NULL;
    }
    DwRecord *record = dw_record_new(entity);
    if (dw_record_load(request->book, record, id, &message) == DW_OK)
        return record;
    *refusal = dw_answer_refusal(404, dw_message_said(&message));
    free(record);
    return NULL;
}

// A row for FIELD where the two do not say the same.
static void write_difference(DwPage *page, const Merge *merge, const DwField *field)
{
    DwHtml *html = page->html;
    char *theirs = dw_record_form_words(merge->request, merge->from, field);
    char *own = dw_record_form_words(merge->request, merge->into, field);
    if (!field->kept && !field->secret && strcmp(theirs, own) != 0) {
        dw_html_open(html, "tr", NULL);
        dw_html_element(html, "th", dw_words(field->label), "scope", "row", NULL);
        dw_html_element(html, "td", *own ? own : "–", NULL);
        dw_html_element(html, "td", *theirs ? theirs : "–", NULL);
        dw_html_close(html, "tr");
    }
    free(theirs);
    free(own);
}

static void write_differences(DwPage *page, const Merge *merge)
{
    DwHtml *html = page->html;
    const DwEntity *entity = merge->from->entity;
    dw_html_open(html, "table", NULL);
    dw_html_element(html, "caption", _("What the two say differently"), NULL);
    dw_html_open(html, "tr", NULL);
    dw_html_element(html, "td", "", NULL);
    dw_html_element(html, "th", _("The one that stays"), "scope", "col", NULL);
    dw_html_element(html, "th", _("The one that goes"), "scope", "col", NULL);
    dw_html_close(html, "tr");
    for (size_t i = 0; i < entity->field_count; i++)
        write_difference(page, merge, &entity->fields[i]);
    dw_html_close(html, "table");
    dw_html_element(html, "p",
                    _("Where both say something, the one that stays keeps its own, and what the other said is written "
                      "in its note. A no of either stays a no."),
                    NULL);
}

// "2 jobs, 1 ownership": what comes along.
static void write_hanging(DwPage *page, const Merge *merge)
{
    const DwEntity *other;
    DwText text = {0};
    for (size_t i = 0; (other = dw_entity_at(i)); i++) {
        size_t count = 0;
        if (dw_twin_hanging(merge->request->book, merge->from->entity, merge->from->id, other, &count, NULL) == DW_OK &&
            count)
            dw_text_add(&text, "%s%zu %s", text.length ? ", " : "", count,
                        dw_words(count == 1 ? other->label : dw_entry_plural(other)));
    }
    dw_html_open(page->html, "p", NULL);
    if (text.length)
        dw_html_format(page->html, _("It takes along: %s."), text.chars);
    else
        dw_html_text(page->html, _("Nothing belongs to the one that goes."));
    dw_html_close(page->html, "p");
    dw_text_clear(&text);
}

static DwAnswer ask(const Merge *merge)
{
    const DwRecord *from = merge->from, *into = merge->into;
    char *goes = dw_entry_title(merge->request->book, from), *stays = dw_entry_title(merge->request->book, into);
    char *action = dw_text_format("/record/%s/%lld/merge", from->entity->name, (long long)from->id);
    char *id = dw_text_format("%lld", (long long)into->id), *place = dw_record_form_place(merge->request, into);
    DwPage *page =
        dw_page_begin(merge->request, &(DwPageHead){.title = _("Make one"), .style = "job.css", .room = DW_ROOM_BOOK});
    DwHtml *html = page->html;
    dw_html_open(html, "h1", NULL);
    dw_html_format(html, _("Put %s (number %lld) into %s (number %lld)?"), goes, (long long)from->id, stays,
                   (long long)into->id);
    dw_html_close(html, "h1");
    write_differences(page, merge);
    write_hanging(page, merge);
    dw_page_caution(page, _("They can be taken apart again; what comes until then stays with the one that stays."));
    dw_form_begin(page, action, false);
    dw_html_void(html, "input", "type", "hidden", "name", "into", "value", id, NULL);
    dw_html_void(html, "input", "type", "hidden", "name", "sure", "value", "yes", NULL);
    dw_html_open(html, "div", "class", "acts", NULL);
    dw_html_element(html, "button", _("Make them one"), "type", "submit", "class", "danger", NULL);
    dw_html_element(html, "a", _("Leave both"), "href", place, "class", "button second", NULL);
    dw_html_close(html, "div");
    dw_form_end(page);
    free(goes);
    free(stays);
    free(action);
    free(id);
    free(place);
    return dw_page_end(page);
}

static DwAnswer join(const Merge *merge)
{
    DwMessage message;
    DwJournalSpan span = {0};
    char *place = dw_text_format("/book/%s/%lld", merge->into->entity->name, (long long)merge->into->id);
    DwStatus status =
        dw_twin_merge(merge->request->book, merge->from->entity, merge->from->id, merge->into->id, &message);
    if (status == DW_OK && dw_journal_newest(merge->request->book, &span.first, NULL) == DW_OK)
        span.last = span.first;
    DwAnswer answer = status == DW_OK ? dw_kept_answer(merge->request, &(DwKept){DW_KEPT_MERGED, place, .span = span})
                                      : dw_answer_trouble(status, &message);
    free(place);
    return answer;
}

// The record goes into the one that the form names, once somebody has seen what that joins.
static DwAnswer merge_record(const DwWebRequest *request)
{
    DwAnswer answer;
    Merge merge = {.request = request, .from = load(request, dw_request_id(request, "id"), &answer)};
    if (merge.from)
        merge.into = load(request, strtoll(dw_request_field(request, "into"), NULL, 10), &answer);
    if (merge.into)
        answer = strcmp(dw_request_field(request, "sure"), "yes") == 0 ? join(&merge) : ask(&merge);
    dw_record_free(merge.from);
    dw_record_free(merge.into);
    return answer;
}

const DwWebRoute dw_routes_merge[] = {
    {"POST", "/record/:entity/:id/merge", merge_record, false},
    {0},
};
