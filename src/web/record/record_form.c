// SPDX-License-Identifier: MIT
#include "web/record/record_form.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/entry/entry.h"
#include "book/job/job.h"
#include "chart/draw/number.h"
#include "web/page/page.h"
#include "web/server/route.h"
#include "web/server/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// The next of the KEYS parted by '|' as a field of ENTITY; NULL past the last.
static const DwField *next_field(const DwEntity *entity, const char **keys)
{
    if (!**keys)
        return NULL;
    size_t length = strcspn(*keys, "|");
    char *key = dw_text_format("%.*s", (int)length, *keys);
    const DwField *field = dw_field_find(entity, key);
    free(key);
    *keys += length + ((*keys)[length] == '|');
    return field;
}

static void write_fields(DwPage *page, const DwRecord *record, const char *keys,
                         bool (*shown)(const DwEntity *, const DwField *), const char *but)
{
    const DwEntity *entity = record->entity;
    dw_html_open(page->html, "div", "class", "fields", NULL);
    if (keys) {
        const DwField *field;
        while ((field = next_field(entity, &keys)))
            dw_record_control(page, record, field);
    } else
        for (size_t i = 0; i < entity->field_count; i++)
            if (shown(entity, &entity->fields[i]) && (!but || strcmp(but, entity->fields[i].key) != 0))
                dw_record_control(page, record, &entity->fields[i]);
    dw_html_close(page->html, "div");
}

// The page that the form stands on, to which its act goes back.
static void write_back(DwPage *page)
{
    char *here = dw_page_here(page, page->request->path, "");
    dw_html_void(page->html, "input", "type", "hidden", "name", "back", "value", here, NULL);
    free(here);
}

void dw_record_form_change(DwPage *page, const DwRecord *record, const char *keys)
{
    char *action = dw_text_format("/record/%s/%lld", record->entity->name, (long long)record->id);
    char *revision = dw_text_format("%lld", (long long)record->revision);
    dw_form_begin(page, action, true);
    dw_html_void(page->html, "input", "type", "hidden", "name", "revision", "value", revision, NULL);
    write_back(page);
    write_fields(page, record, keys, dw_entry_is_changed, NULL);
    dw_form_button(page, _("Keep"));
    dw_form_end(page);
    free(action);
    free(revision);
}

void dw_record_form_add(DwPage *page, const DwRecord *record, const char *reference, int64_t id, const char *keys,
                        const char *button)
{
    char *action = dw_text_format("/record/%s", record->entity->name);
    dw_form_begin(page, action, false);
    if (reference) {
        char *text = dw_text_format("%lld", (long long)id);
        dw_html_void(page->html, "input", "type", "hidden", "name", reference, "value", text, NULL);
        write_back(page);
        free(text);
    }
    write_fields(page, record, keys, dw_entry_is_given, reference);
    dw_form_button(page, button);
    dw_form_end(page);
    free(action);
}

// Sets the field KEY of an entry, though a person could not type it.
static void hang(DwRecord *record, const char *key, int64_t id)
{
    const DwField *field = key ? dw_field_find(record->entity, key) : NULL;
    if (field)
        *(int64_t *)((char *)record + field->offset) = id;
}

void dw_record_form_fold(DwPage *page, const DwEntity *entity, const char *reference, int64_t id, const char *keys,
                         const char *words)
{
    DwRecord *record = dw_record_new(entity);
    hang(record, reference, id);
    dw_html_open(page->html, "details", "class", "add", NULL);
    dw_html_element(page->html, "summary", words, NULL);
    dw_record_form_add(page, record, reference, id, keys, _("Add"));
    dw_html_close(page->html, "details");
    dw_record_free(record);
}

int64_t dw_record_form_opened(const DwWebRequest *request, const DwEntity *entity)
{
    const char *open = dw_request_query(request, "open");
    size_t length = strlen(entity->name);
    return strncmp(open, entity->name, length) == 0 && open[length] == '-' ? strtoll(open + length + 1, NULL, 10) : 0;
}

static bool says_something(const DwField *field, const char *words)
{
    // The rate of a line that is taxed as its bill.
    if (field->kind == DW_FIELD_RATE && words[0] == '0' && words[1] != '.')
        return false;
    return *words && strcmp(words, "none") != 0 && !(field->kind == DW_FIELD_INTEGER && strcmp(words, "0") == 0) &&
           !(field->kind == DW_FIELD_YES && strcmp(words, _("no")) == 0) && !field->secret;
}

// Whether FIELD is the unit of a value that stands in the entry's title, and stands there with it.
static bool is_told_unit(const DwEntity *entity, const DwField *field)
{
    const DwField *value = dw_field_find(entity, "value");
    return strcmp(field->key, "unit") == 0 && value && dw_entry_is_in_title(entity, value);
}

// The entry's title, its value with its unit: "Offset angle 23.8°". The caller frees it with free().
static char *title_of(const DwWebRequest *request, const DwRecord *record)
{
    char *title = dw_record_by_label(dw_entry_title(request->book, record));
    const DwField *field = dw_field_find(record->entity, "unit");
    if (!field || !is_told_unit(record->entity, field))
        return title;
    char *unit = dw_record_text(request->book, record, field);
    char *whole = dw_text_format("%s%s%s", title, dw_number_space(unit), dw_number_unit(unit));
    free(unit);
    free(title);
    return whole;
}

// A verdict by its mark, all else in words.
static void write_value(DwPage *page, const DwRecord *record, const DwField *field, const char *words)
{
    dw_html_open(page->html, "span", "class", "value", NULL);
    if (strcmp(field->key, "grade") == 0)
        dw_page_verdict(page, (DwVerdict) * (const int *)((const char *)record + field->offset));
    else {
        dw_html_element(page->html, "span", dw_words(field->label), "class", "quiet", NULL);
        dw_html_text(page->html, " ");
        dw_html_text(page->html, strcmp(field->key, "unit") == 0 ? dw_number_unit(words) : words);
    }
    dw_html_close(page->html, "span");
}

void dw_record_form_columns(DwPage *page, const DwRecord *record, const char *columns)
{
    const DwEntity *entity = record->entity;
    size_t i = 0;
    for (;;) {
        const DwField *field = columns                   ? next_field(entity, &columns)
                               : i < entity->field_count ? &entity->fields[i++]
                                                         : NULL;
        if (!field)
            break;
        bool said = !columns && ((field->kind == DW_FIELD_REFERENCE && field->required) ||
                                 dw_entry_is_in_title(entity, field) || is_told_unit(entity, field));
        char *words = dw_record_form_words(page->request, record, field);
        if (!said && says_something(field, words))
            write_value(page, record, field, words);
        free(words);
    }
}

static bool changes_at_all(const DwEntity *entity)
{
    for (size_t i = 0; i < entity->field_count; i++)
        if (dw_entry_is_changed(entity, &entity->fields[i]))
            return true;
    return false;
}

static void write_removal(DwPage *page, const DwRecord *record, bool back)
{
    char *action = dw_text_format("/record/%s/%lld/remove", record->entity->name, (long long)record->id);
    dw_form_begin(page, action, false);
    if (back)
        write_back(page);
    dw_html_element(page->html, "button", _("Remove"), "type", "submit", "class", "danger", NULL);
    dw_form_end(page);
    free(action);
}

// CLOSED is the page without the open form, or NULL.
static void write_acts(DwPage *page, const DwRecord *record, const char *closed)
{
    char *history = dw_text_format("/journal/%s/%lld", record->entity->name, (long long)record->id);
    dw_html_open(page->html, "div", "class", "acts", NULL);
    if (dw_entry_is_removed(record->entity))
        write_removal(page, record, closed != NULL);
    dw_html_element(page->html, "a", _("Its journal"), "href", history, "class", "button second", NULL);
    if (closed)
        dw_html_element(page->html, "a", _("Close"), "href", closed, "class", "button second", NULL);
    dw_html_close(page->html, "div");
    free(history);
}

void dw_record_form_acts(DwPage *page, const DwRecord *record)
{
    write_acts(page, record, NULL);
}

void dw_record_form_links(DwPage *page, const DwRecords *records)
{
    if (records->count == 0)
        return;
    dw_html_open(page->html, "ul", "class", "cards", NULL);
    for (size_t i = 0; i < records->count; i++) {
        const DwRecord *record = dw_records_at(records, i);
        char *title = title_of(page->request, record), *place = dw_record_form_place(page->request, record);
        dw_html_open(page->html, "li", NULL);
        dw_html_element(page->html, "a", title, "href", place, "class", "card", NULL);
        dw_html_close(page->html, "li");
        free(title);
        free(place);
    }
    dw_html_close(page->html, "ul");
}

static void write_row(DwPage *page, const DwRecord *record, const char *columns, bool open, const char *path)
{
    DwHtml *html = page->html;
    char *title = title_of(page->request, record);
    char *id = dw_text_format("%s-%lld", record->entity->name, (long long)record->id);
    dw_html_open(html, "li", "class", open ? "entry open" : "entry", "id", id, NULL);
    dw_html_open(html, "div", "class", "said", NULL);
    dw_html_element(html, "strong", title, NULL);
    if (!open) {
        dw_html_open(html, "span", "class", "values", NULL);
        dw_record_form_columns(page, record, columns);
        dw_html_close(html, "span");
    }
    dw_html_close(html, "div");
    if (open) {
        char *here = dw_page_here(page, path, ""), *closed = dw_text_format("%s#%s", here, id);
        dw_record_form_change(page, record, NULL);
        write_acts(page, record, closed);
        free(here);
        free(closed);
    } else if (path && (changes_at_all(record->entity) || dw_entry_is_removed(record->entity))) {
        char *more = dw_text_format("open=%s", id), *here = dw_page_here(page, path, more);
        char *link = dw_text_format("%s#%s", here, id);
        char *label = dw_text_format(_("Change %s"), title);
        dw_html_element(html, "a", _("Change"), "href", link, "class", "button second", "aria-label", label, NULL);
        free(more);
        free(here);
        free(link);
        free(label);
    }
    dw_html_close(html, "li");
    free(title);
    free(id);
}

void dw_record_form_list(DwPage *page, const DwRecords *records, const char *columns, int64_t open, const char *path)
{
    if (records->count == 0)
        return;
    dw_html_open(page->html, "ul", "class", "entries", NULL);
    for (size_t i = 0; i < records->count; i++) {
        const DwRecord *record = dw_records_at(records, i);
        write_row(page, record, columns, record->id == open, path);
    }
    dw_html_close(page->html, "ul");
}

// What was sent for FIELD in the book's own form; NULL when it stands as it was. The caller frees it.
static char *sent_text(const DwWebRequest *request, const DwRecord *record, const DwField *field, const char *sent)
{
    if (dw_record_in_grams(field) && *sent) {
        char *spoken = dw_record_spoken(request, record, field);
        bool same = strcmp(spoken, sent) == 0; // what was rounded for the form is no change
        free(spoken);
        bool bare = !sent[strspn(sent, "0123456789.,+- ")];
        return same ? NULL : dw_text_format("%s%s", sent, bare ? " g" : "");
    }
    if (field->kind != DW_FIELD_MOMENT || !*sent || dw_moment_is_moment(sent))
        return dw_memory_text(sent);
    char shown[DW_CLOCK_SIZE], moment[DW_MOMENT_SIZE];
    char *now = dw_record_text(request->book, record, field);
    dw_moment_clock(now, shown);
    free(now);
    if (strncmp(shown, sent, DW_CLOCK_SIZE - 1) == 0) // a form shows no seconds
        return NULL;
    char *minute = dw_text_format("%.16s", sent); // some browsers send them
    dw_moment_of_clock(minute, moment);
    free(minute);
    return dw_memory_text(*moment ? moment : sent);
}

DwStatus dw_record_form_read(const DwWebRequest *request, DwRecord *record, bool adding, DwMessage *message)
{
    const DwEntity *entity = record->entity;
    for (size_t i = 0; i < entity->field_count; i++) {
        const DwField *field = &entity->fields[i];
        bool wanted = adding ? dw_entry_is_given(entity, field) : dw_entry_is_changed(entity, field);
        if (!wanted || !dw_request_sent(request, field->key))
            continue;
        char *text = sent_text(request, record, field, dw_request_field(request, field->key));
        DwStatus status = text ? dw_record_set(request->book, record, field->key, text, message) : DW_OK;
        free(text);
        if (status != DW_OK)
            return status;
    }
    return DW_OK;
}

char *dw_record_form_place(const DwWebRequest *request, const DwRecord *record)
{
    int64_t id = 0;
    DwJob job;
    dw_record_init(&job.record, &dw_job_entity);
    char *place = NULL;
    if (dw_entry_job(request->book, record, &id, NULL) == DW_OK && id &&
        dw_record_load(request->book, &job.record, id, NULL) == DW_OK)
        place = dw_text_format("/job/%04lld", (long long)job.number);
    dw_record_clear(&job.record);
    return place ? place : dw_text_format("/book/%s/%lld", record->entity->name, (long long)record->id);
}
