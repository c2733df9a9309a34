// SPDX-License-Identifier: MIT
// The journal of a job or of one record: who changed what, and what stood there
// before; each change can be undone, or says why not.
#include "base/memory.h"
#include "base/text.h"
#include "book/entry/entry.h"
#include "web/job/job_head.h"
#include "web/job/job_line.h"
#include "web/job/pages.h"
#include "web/page/page.h"
#include "web/page/person_mark.h"
#include "web/record/record_form.h"
#include "web/server/words.h"

#include <stdlib.h>
#include <string.h>

enum { LINES_A_PAGE = 15, PAGES_MOST = 100, MOST_SHOWN = 160 };

// A long text is shown by its beginning: the journal keeps all of it.
static void write_value(DwPage *page, const char *value)
{
    size_t length = strlen(value);
    if (length > MOST_SHOWN) {
        length = MOST_SHOWN;
        while (length && ((unsigned char)value[length] & 0xC0) == 0x80)
            length--;
        dw_html_format(page->html, "“%.*s…”", (int)length, value);
    } else if (length)
        dw_html_format(page->html, "“%s”", value);
    else
        dw_html_text(page->html, _("nothing"));
}

static void write_change(DwPage *page, const DwJournalLine *line)
{
    DwHtml *html = page->html;
    const DwEntity *entity = dw_entity_find(line->entity);
    const DwField *field = entity ? dw_field_find(entity, line->field) : NULL;
    const char *label = field ? field->label : line->field;
    dw_html_open(html, "div", NULL);
    dw_html_open(html, "strong", NULL);
    dw_html_format(html, "%s%s%s", dw_words(entity ? entity->label : line->entity), *line->field ? ", " : " ",
                   dw_words(*line->field ? label : line->new_value));
    dw_html_close(html, "strong");
    if (*line->field) {
        char *before = dw_record_said(field, line->old_value), *after = dw_record_said(field, line->new_value);
        dw_html_text(html, ": ");
        write_value(page, before);
        dw_html_text(html, " → ");
        write_value(page, after);
        free(before);
        free(after);
    }
    dw_html_close(html, "div");
}

static void write_undo(DwPage *page, const DwJournalLine *line)
{
    DwMessage message;
    if (dw_journal_check_undo(page->request->book, line, &message) != DW_OK) {
        char *words = dw_text_format(_("Cannot be undone: %s"), dw_message_said(&message));
        dw_html_element(page->html, "small", words, NULL);
        free(words);
        return;
    }
    char *action = dw_text_format("/undo/%lld/%lld", (long long)line->id, (long long)line->id);
    dw_form_begin(page, action, false);
    dw_html_void(page->html, "input", "type", "hidden", "name", "back", "value", page->request->path, NULL);
    dw_html_element(page->html, "button", _("Undo"), "type", "submit", "class", "second", NULL);
    dw_form_end(page);
    free(action);
}

static void write_line(DwPage *page, const DwJournalLine *line)
{
    DwHtml *html = page->html;
    dw_html_open(html, "li", "class", "entry", NULL);
    dw_html_open(html, "div", "class", "said", NULL);
    write_change(page, line);
    dw_html_open(html, "span", "class", "quiet", NULL);
    dw_html_element(html, "time", dw_page_moment(line->at).text, "datetime", line->at, NULL);
    dw_html_text(html, ", ");
    dw_person_write(html, page->request->people, line->who);
    dw_html_close(html, "span");
    dw_html_close(html, "div");
    write_undo(page, line);
    dw_html_close(html, "li");
}

// Which page of the journal is asked for, from 1, the newest.
static size_t page_number(const DwWebRequest *request)
{
    int64_t asked = dw_request_id(request, "page");
    return asked < 1 ? 1 : asked > PAGES_MOST ? PAGES_MOST : (size_t)asked;
}

// How many of the newest lines must be read to show that page, and to know whether there are older ones.
static size_t lines_to_read(const DwWebRequest *request)
{
    return page_number(request) * LINES_A_PAGE + 1;
}

static void write_turn(DwPage *page, size_t number, const char *words)
{
    char *path = dw_text_format("%s?page=%zu", page->request->path, number);
    dw_html_element(page->html, "a", words, "href", path, "class", "button second", NULL);
    free(path);
}

// Newest first, as one looks for what was just done.
static void write_journal(DwPage *page, const DwJournal *journal)
{
    size_t number = page_number(page->request), newer = (number - 1) * LINES_A_PAGE, shown = 0;
    if (journal->count == 0)
        dw_html_element(page->html, "p", _("Nothing was changed yet."), NULL);
    dw_html_open(page->html, "ul", "class", "entries journal", NULL);
    for (size_t i = journal->count; i > 0 && shown < LINES_A_PAGE; i--)
        if (journal->count - i >= newer) {
            write_line(page, &journal->lines[i - 1]);
            shown++;
        }
    dw_html_close(page->html, "ul");
    dw_html_open(page->html, "p", "class", "acts", NULL);
    if (number > 1)
        write_turn(page, number - 1, _("Newer"));
    if (journal->count > newer + shown && number < PAGES_MOST)
        write_turn(page, number + 1, _("Older"));
    dw_html_close(page->html, "p");
    if (number == PAGES_MOST)
        dw_html_element(page->html, "p", _("Older lines are in the export of the book."), "class", "quiet", NULL);
}

static DwAnswer show_of_job(const DwWebRequest *request)
{
    DwAnswer answer;
    DwJob job;
    DwJournal journal;
    DwMessage message;
    if (!dw_job_head_find(request, &job, &answer)) {
        dw_record_clear(&job.record);
        return answer;
    }
    DwStatus status = dw_journal_of_job(request->book, job.record.id, lines_to_read(request), &journal, &message);
    if (status != DW_OK)
        answer = dw_answer_trouble(status, &message);
    else {
        DwPage *page =
            dw_page_begin(request, &(DwPageHead){.title = _("Journal"), .style = "job.css", .room = DW_ROOM_BOARD});
        dw_job_head_write(page, &job, _("Journal"));
        write_journal(page, &journal);
        answer = dw_page_end(page);
        dw_journal_clear(&journal);
    }
    dw_record_clear(&job.record);
    return answer;
}

// The name of a record that may be gone. The caller frees it.
static char *title_of(const DwWebRequest *request, const DwEntity *entity, int64_t id, char **place)
{
    DwRecord *record = dw_record_new(entity);
    char *title = NULL;
    if (dw_record_load(request->book, record, id, NULL) == DW_OK) {
        title = dw_entry_title(request->book, record);
        *place = dw_record_form_place(request, record);
    }
    dw_record_free(record);
    return title ? title : dw_text_format("%s %lld", entity->label, (long long)id);
}

static DwAnswer write_of_record(const DwWebRequest *request, const DwEntity *entity, int64_t id,
                                const DwJournal *journal)
{
    char *place = NULL, *title = title_of(request, entity, id, &place);
    DwPage *page =
        dw_page_begin(request, &(DwPageHead){.title = _("Journal"), .style = "job.css", .room = DW_ROOM_BOOK});
    DwHtml *html = page->html;
    if (place)
        dw_html_element(html, "a", title, "href", place, "class", "back", NULL);
    dw_html_open(html, "h1", NULL);
    dw_html_format(html, _("Journal of the %s %s"), dw_words(entity->label), title);
    dw_html_close(html, "h1");
    write_journal(page, journal);
    DwAnswer answer = dw_page_end(page);
    free(place);
    free(title);
    return answer;
}

static DwAnswer show_of_record(const DwWebRequest *request)
{
    const DwEntity *entity = dw_entity_find(dw_request_path(request, "entity"));
    int64_t id = dw_request_id(request, "id");
    if (!entity || !id)
        return dw_answer_refusal(404, _("The book keeps nothing of that name."));
    DwJournal journal;
    DwMessage message;
    DwStatus status = dw_journal_read(request->book, entity->name, id, lines_to_read(request), &journal, &message);
    if (status != DW_OK)
        return dw_answer_trouble(status, &message);
    DwAnswer answer = write_of_record(request, entity, id, &journal);
    dw_journal_clear(&journal);
    return answer;
}

const DwWebRoute dw_routes_journal[] = {
    {"GET", "/job/:number/journal", show_of_job, false},
    {"GET", "/journal/:entity/:id", show_of_record, false},
    {0},
};
