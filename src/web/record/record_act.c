// SPDX-License-Identifier: MIT
// What the forms of records do: add, change, take out, undo.
#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/entry/entry.h"
#include "book/entry/twin.h"
#include "book/store/attachment.h"
#include "web/page/kept.h"
#include "web/page/page.h"
#include "web/record/pages.h"
#include "web/record/record_form.h"
#include "web/server/words.h"

#include <stdlib.h>
#include <string.h>

// An empty record of the entity in the path; NULL and refused when there is none
// that a person enters. The caller ends it with dw_record_free().
static DwRecord *begin(const DwWebRequest *request, DwAnswer *refusal)
{
    const DwEntity *entity = dw_entity_find(dw_request_path(request, "entity"));
    if (!entity) {
        *refusal = dw_answer_refusal(404, _("The book keeps nothing of that name."));
        return NULL;
    }
    DwRecord *record = dw_record_new(entity);
    return record;
}

// The record that the path names; NULL and refused when it is not there.
static DwRecord *load(const DwWebRequest *request, DwAnswer *refusal)
{
    DwRecord *record = begin(request, refusal);
    DwMessage message;
    if (record && dw_record_load(request->book, record, dw_request_id(request, "id"), &message) != DW_OK) {
        *refusal = dw_answer_refusal(404, dw_message_said(&message));
        dw_record_free(record);
        return NULL;
    }
    return record;
}

// What leads to a part of a page: "?at=" and a word of ours.
static bool is_part(const char *query)
{
    return strncmp(query, "?at=", 4) == 0 && query[4] &&
           query[4 + strspn(query + 4, "abcdefghijklmnopqrstuvwxyz-")] == '\0';
}

// A page of ours to go back to; NULL when BACK is anything else.
static const char *page_of_ours(const char *back)
{
    bool ours = back[0] == '/' && back[1] != '/' && back[1] != '\\';
    size_t path = strcspn(back, "?");
    for (size_t i = 0; i < path && ours; i++)
        ours = (unsigned char)back[i] > 32 && back[i] != '\\' && back[i] != '#';
    return ours && (!back[path] || is_part(back + path)) ? back : NULL;
}

// Where to go after an act on RECORD: the page its form stood on, or where it is found. The caller frees it.
static char *place_of(const DwWebRequest *request, const DwRecord *record)
{
    const char *back = page_of_ours(dw_request_field(request, "back"));
    return back ? dw_memory_text(back) : dw_record_form_place(request, record);
}

static char *anchor_of(const DwEntity *entity, int64_t id)
{
    return dw_text_format("%s-%lld", entity->name, (long long)id);
}

static void carry(DwPage *page, const char *name)
{
    if (dw_request_sent(page->request, name))
        dw_html_void(page->html, "input", "type", "hidden", "name", name, "value",
                     dw_request_field(page->request, name), NULL);
}

// Asks about DOUBT before RECORD is added: the form comes again as it was sent, with the word that somebody is sure.
static DwAnswer ask_adding(const DwWebRequest *request, const DwRecord *record, const char *doubt)
{
    char *place = place_of(request, record), *action = dw_text_format("/record/%s", record->entity->name);
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = _("Is that so?"), .room = DW_ROOM_BOOK});
    DwHtml *html = page->html;
    dw_html_element(html, "h1", _("Is that so?"), NULL);
    dw_html_element(html, "p", dw_words(doubt), "class", "lead", NULL);
    dw_form_once_more(page);
    dw_form_begin(page, action, false);
    for (size_t i = 0; i < record->entity->field_count; i++)
        carry(page, record->entity->fields[i].key);
    carry(page, "back");
    dw_html_void(html, "input", "type", "hidden", "name", "sure", "value", "yes", NULL);
    dw_html_open(html, "div", "class", "acts", NULL);
    dw_form_button(page, _("Add it all the same"));
    dw_html_element(html, "a", _("Leave it"), "href", place, "class", "button second", NULL);
    dw_html_close(html, "div");
    dw_form_end(page);
    free(place);
    free(action);
    DwAnswer answer = dw_page_end(page);
    answer.asks = true;
    return answer;
}

static DwAnswer add_record(const DwWebRequest *request)
{
    DwAnswer answer;
    DwRecord *record = begin(request, &answer);
    if (!record)
        return answer;
    DwMessage message;
    const char *doubt = NULL;
    DwStatus status = dw_entry_is_added(record->entity) ? dw_record_form_read(request, record, true, &message)
                                                        : dw_fail(&message, DW_BAD_INPUT, "A %s is not added by hand.",
                                                                  dw_said(record->entity->label));
    if (status == DW_OK && strcmp(dw_request_field(request, "sure"), "yes") != 0)
        status = dw_entry_doubt(request->book, record, &doubt, &message);
    if (status == DW_OK && !doubt)
        status = dw_entry_add(request->book, record, &message);
    if (status == DW_OK && doubt)
        answer = ask_adding(request, record, doubt);
    else if (status == DW_OK) {
        char *place = place_of(request, record), *anchor = anchor_of(record->entity, record->id);
        answer = dw_kept_line(request, record, record->id, DW_KEPT_ADDED, place, anchor);
        free(place);
        free(anchor);
    } else
        answer = dw_answer_trouble(status, &message);
    dw_record_free(record);
    return answer;
}

// FIELD's value as a form shows it; the caller frees it.
static char *shown(const DwWebRequest *request, const DwRecord *record, const DwField *field)
{
    char *text = dw_record_spoken(request, record, field);
    char clock[DW_CLOCK_SIZE];
    if (field->kind == DW_FIELD_MOMENT)
        dw_moment_clock(text, clock);
    bool none = field->kind == DW_FIELD_INTEGER && strcmp(text, "0") == 0;
    if (!none && field->kind != DW_FIELD_MOMENT)
        return text;
    free(text);
    return dw_memory_text(none ? "" : clock);
}

// A value as it is said beside another: the beginning of a long one.
static char *beginning_of(const char *value)
{
    enum { MOST = 200 };
    size_t length = strlen(value);
    return dw_text_format("%.*s%s", dw_text_whole(value, MOST), value, length > MOST ? "…" : "");
}

// Whether NOW, in the book, is another's: neither what came nor, where a script says it, what the form was made with.
static bool is_another_s(const DwWebRequest *request, const DwField *field, const char *now)
{
    char *was = dw_text_format("was.%s", field->key);
    bool another = strcmp(now, dw_request_field(request, field->key)) != 0 &&
                   (!dw_request_sent(request, was) || strcmp(now, dw_request_field(request, was)) != 0);
    free(was);
    return another;
}

// Says of the fields that two have changed what each of them wrote. Returns false when RECORD, as it is in the book
// now, has none such: what others changed since the form was made then stands beside what came.
static bool say_conflict(const DwWebRequest *request, const DwRecord *record, DwMessage *message)
{
    DwText both = {0};
    for (size_t i = 0; i < record->entity->field_count; i++) {
        const DwField *field = &record->entity->fields[i];
        if (!dw_request_sent(request, field->key) || !dw_entry_is_changed(record->entity, field))
            continue;
        char *now = shown(request, record, field);
        if (is_another_s(request, field, now)) {
            char *there = beginning_of(now), *here = beginning_of(dw_request_field(request, field->key));
            dw_text_add(&both, both.chars ? " " : "");
            dw_text_add(&both, _("“%s” was changed by somebody else meanwhile: it is “%s” there, and “%s” here."),
                        dw_words(field->label), there, here);
            free(there);
            free(here);
        }
        free(now);
    }
    bool found = both.chars != NULL;
    if (found)
        dw_fail(message, DW_BAD_INPUT, "%s", both.chars);
    dw_text_clear(&both);
    return found;
}

// The revision that the form was made of. Where the book has a newer one, only what nobody else changed is taken.
static DwStatus take_revision(const DwWebRequest *request, const DwRecord *record, DwMessage *message)
{
    const char *revision = dw_request_field(request, "revision");
    if (!*revision || strtoll(revision, NULL, 10) == record->revision)
        return DW_OK;
    return say_conflict(request, record, message) ? DW_BAD_INPUT : DW_OK;
}

static DwAnswer change_record(const DwWebRequest *request)
{
    DwAnswer answer;
    DwRecord *record = load(request, &answer);
    if (!record)
        return answer;
    DwMessage message;
    int64_t now = record->revision;
    DwStatus status = take_revision(request, record, &message);
    bool conflict = status != DW_OK;
    if (status == DW_OK)
        status = dw_record_form_read(request, record, false, &message);
    if (status == DW_OK) {
        char *place = place_of(request, record), *anchor = anchor_of(record->entity, record->id);
        answer = dw_kept_change(request, record, place, anchor);
        free(place);
        free(anchor);
    } else
        answer = dw_answer_trouble(status, &message);
    if (conflict) {
        char *revision = dw_text_format("%lld", (long long)now);
        dw_answer_tell(&answer, DW_NEWER_REVISION, revision);
        free(revision);
    }
    dw_record_free(record);
    return answer;
}

// Whether the journal cannot give the record back: a person's data goes for good, and so does a file.
static bool goes_for_good(const DwEntity *entity)
{
    bool personal = entity == &dw_attachment_entity;
    for (size_t i = 0; i < entity->field_count; i++)
        personal = personal || entity->fields[i].personal;
    return personal;
}

static DwAnswer ask_removal(const DwWebRequest *request, const DwRecord *record, const char *place)
{
    char *title = dw_entry_title(request->book, record);
    char *action = dw_text_format("/record/%s/%lld/remove", record->entity->name, (long long)record->id);
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = _("Remove"), .room = DW_ROOM_BOOK});
    DwHtml *html = page->html;
    dw_html_open(html, "h1", NULL);
    dw_html_format(html, _("Remove %s?"), title);
    dw_html_close(html, "h1");
    dw_html_element(html, "p", _("This cannot be undone: what a person said or wrote goes out of the journal too."),
                    "class", "lead", NULL);
    dw_form_begin(page, action, false);
    dw_html_void(html, "input", "type", "hidden", "name", "sure", "value", "yes", NULL);
    dw_html_void(html, "input", "type", "hidden", "name", "back", "value", place, NULL);
    dw_html_open(html, "div", "class", "acts", NULL);
    dw_html_element(html, "button", _("Remove for good"), "type", "submit", "class", "danger", NULL);
    dw_html_element(html, "a", _("Leave it"), "href", place, "class", "button second", NULL);
    dw_html_close(html, "div");
    dw_form_end(page);
    DwAnswer answer = dw_page_end(page);
    free(title);
    free(action);
    return answer;
}

// Where to go once RECORD is gone: its job's page, or the list of its kind. The caller frees it.
static char *place_without(const DwWebRequest *request, const DwRecord *record)
{
    const char *back = page_of_ours(dw_request_field(request, "back"));
    char *place = back ? dw_memory_text(back) : dw_record_form_place(request, record);
    if (back || strncmp(place, "/job/", 5) == 0)
        return place;
    free(place);
    return dw_text_format("/book/%s", record->entity->name);
}

static DwAnswer remove_record(const DwWebRequest *request)
{
    DwAnswer answer;
    DwRecord *record = load(request, &answer);
    if (!record)
        return answer;
    char *place = place_without(request, record);
    bool asks = dw_entry_is_removed(record->entity) && goes_for_good(record->entity);
    if (asks && strcmp(dw_request_field(request, "sure"), "yes") != 0)
        answer = ask_removal(request, record, place);
    else {
        DwMessage message;
        int64_t id = record->id;
        DwStatus status = dw_entry_remove(request->book, record, &message);
        if (status == DW_OK)
            answer = dw_kept_line(request, record, id, DW_KEPT_REMOVED, place, NULL);
        else
            answer = dw_answer_trouble(status, &message);
    }
    free(place);
    dw_record_free(record);
    return answer;
}

static DwAnswer undo(const DwWebRequest *request)
{
    DwJournalSpan span = {dw_request_id(request, "first"), dw_request_id(request, "last")};
    DwMessage message;
    const char *back = page_of_ours(dw_request_field(request, "back"));
    DwJournal journal = {0};
    DwStatus status = dw_journal_undo_span(request->book, span, &message);
    if (status != DW_OK)
        return dw_answer_trouble(status, &message);
    bool parted =
        dw_journal_line(request->book, span.first, &journal, NULL) == DW_OK && dw_twin_is_merging(&journal.lines[0]);
    dw_journal_clear(&journal);
    return dw_kept_answer(request, &(DwKept){.what = parted ? DW_KEPT_PARTED : DW_KEPT_UNDONE,
                                             .span = parted ? span : (DwJournalSpan){0},
                                             .path = back ? back : "/"});
}

const DwWebRoute dw_routes_record[] = {
    {"POST", "/record/:entity", add_record, false},
    {"POST", "/record/:entity/:id", change_record, false},
    {"POST", "/record/:entity/:id/remove", remove_record, false},
    {"POST", "/undo/:first/:last", undo, false},
    {0},
};
