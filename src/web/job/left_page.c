// SPDX-License-Identifier: MIT
// Decks that wait for their owners: what was written, what the shop's terms still ask for, and what became of them.
#include "base/memory.h"
#include "base/text.h"
#include "book/job/disposal.h"
#include "book/money/invoice.h"
#include "book/shop/deck.h"
#include "web/job/job_head.h"
#include "web/job/pages.h"
#include "web/page/kept.h"
#include "web/page/page.h"
#include "web/record/record_form.h"
#include "web/server/words.h"

#include <stdlib.h>
#include <string.h>

enum { MOST = 200 };

// "0012 Hollin B2, Lena Grove", as a link to the job.
static void write_heading(DwPage *page, int64_t id)
{
    DwJob job;
    DwDeck deck;
    DwCustomer owner;
    DwBook *book = page->request->book;
    dw_record_init(&job.record, &dw_job_entity);
    dw_record_init(&deck.record, &dw_deck_entity);
    dw_record_init(&owner.record, &dw_customer_entity);
    if (dw_record_load(book, &job.record, id, NULL) == DW_OK &&
        dw_record_load(book, &owner.record, job.customer_id, NULL) == DW_OK) {
        bool named = job.deck_id && dw_record_load(book, &deck.record, job.deck_id, NULL) == DW_OK;
        char *path = dw_text_format("/job/%04lld", (long long)job.number);
        dw_html_open(page->html, "h2", NULL);
        dw_html_open(page->html, "a", "href", path, "class", "alone", NULL);
        dw_html_format(page->html, "%04lld %s %s, %s", (long long)job.number, named && deck.make ? deck.make : "",
                       named && deck.model ? deck.model : "", owner.name);
        dw_html_close(page->html, "a");
        dw_html_close(page->html, "h2");
        free(path);
    }
    dw_record_clear(&job.record);
    dw_record_clear(&deck.record);
    dw_record_clear(&owner.record);
}

static void write_standing(DwPage *page, const DwAbandoned *left)
{
    DwHtml *html = page->html;
    dw_html_open(html, "p", NULL);
    dw_html_format(html, dw_words_count("%lld notice sent", "%lld notices sent", (unsigned long)left->notices),
                   (long long)left->notices);
    if (*left->last_on)
        dw_html_format(html, _(", the last on %s"), left->last_on);
    dw_html_text(html, ". ");
    if (*left->missing)
        dw_html_format(html, _("Missing: %s."), left->missing);
    else
        dw_html_format(html, _("By the shop's terms it may be disposed of since %s."), left->free_on);
    dw_html_close(html, "p");
}

static void write_notices(DwPage *page, int64_t job)
{
    DwRecords notices = {0};
    if (dw_record_list(page->request->book, &dw_notice_entity, "job_id", job, &notices, NULL) == DW_OK)
        dw_record_form_list(page, &notices, "sent_on|how|words", 0, NULL);
    dw_records_clear(&notices);
    dw_record_form_fold(page, &dw_notice_entity, "job_id", job, NULL, _("A notice was sent"));
}

// The record of what became of the deck, once the terms let it go.
static void write_disposal(DwPage *page, const DwAbandoned *left)
{
    static const char *const keys[] = {"how", "disposed_on", "amount", "witness", "words"};
    DwDisposal disposal;
    char *action = dw_text_format("/job/%04lld/dispose", (long long)left->number);
    dw_record_init(&disposal.record, &dw_disposal_entity);
    dw_html_open(page->html, "details", "class", "add", NULL);
    dw_html_element(page->html, "summary", _("Write down what became of it"), NULL);
    dw_page_caution(page, _("Look at the local law first: many ask for more than the shop's own terms do."));
    dw_form_begin(page, action, false);
    dw_html_open(page->html, "div", "class", "fields", NULL);
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
        dw_record_control(page, &disposal.record, dw_field_find(&dw_disposal_entity, keys[i]));
    dw_html_close(page->html, "div");
    dw_form_button(page, _("The deck is gone"));
    dw_form_end(page);
    dw_html_close(page->html, "details");
    dw_record_clear(&disposal.record);
    free(action);
}

static void write_job(DwPage *page, int64_t job)
{
    DwAbandoned left;
    if (dw_disposal_look(page->request->book, job, &left, NULL) != DW_OK)
        return;
    dw_html_open(page->html, "section", NULL);
    write_heading(page, job);
    write_standing(page, &left);
    write_notices(page, job);
    if (!*left.missing)
        write_disposal(page, &left);
    dw_html_close(page->html, "section");
}

static DwAnswer show_left(const DwWebRequest *request)
{
    int64_t jobs[MOST];
    size_t count = 0;
    DwMessage message;
    DwStatus status = dw_disposal_waiting(request->book, jobs, MOST, &count, &message);
    if (status != DW_OK)
        return dw_answer_trouble(status, &message);
    DwPage *page =
        dw_page_begin(request, &(DwPageHead){.title = _("Not fetched yet"), .style = "job.css", .room = DW_ROOM_BOARD});
    dw_html_element(page->html, "h1", _("Decks that wait for their owners"), NULL);
    dw_html_element(page->html, "p",
                    _("The longest wait first. What became of a deck is written down once the terms it was taken in "
                      "under let it go."),
                    "class", "quiet", NULL);
    for (size_t i = 0; i < count; i++)
        write_job(page, jobs[i]);
    if (!count)
        dw_html_element(page->html, "p", _("No deck waits for its owner."), NULL);
    return dw_page_end(page);
}

static DwStatus read_disposal(const DwWebRequest *request, DwDisposal *disposal, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 0; status == DW_OK && i < dw_disposal_entity.field_count; i++) {
        const DwField *field = &dw_disposal_entity.fields[i];
        const char *sent = dw_request_field(request, field->key);
        if (!field->kept && field->kind != DW_FIELD_REFERENCE && *sent)
            status = dw_record_set(request->book, &disposal->record, field->key, sent, message);
    }
    return status == DW_OK && !dw_request_sent(request, "how")
               ? dw_fail(message, DW_BAD_INPUT, "Say what became of the deck.")
               : status;
}

static DwAnswer dispose(const DwWebRequest *request)
{
    DwAnswer answer;
    DwJob job;
    DwDisposal disposal;
    DwMessage message;
    dw_record_init(&disposal.record, &dw_disposal_entity);
    if (dw_job_head_find(request, &job, &answer)) {
        DwStatus status = read_disposal(request, &disposal, &message);
        disposal.job_id = job.record.id;
        if (status == DW_OK)
            status = dw_disposal_record(request->book, &disposal, &message);
        char *path = dw_text_format("/job/%04lld", (long long)job.number);
        answer = status == DW_OK ? dw_kept_answer(request, &(DwKept){.what = DW_KEPT_ADDED, .path = path})
                                 : dw_answer_trouble(status, &message);
        free(path);
    }
    dw_record_clear(&job.record);
    dw_record_clear(&disposal.record);
    return answer;
}

const DwWebRoute dw_routes_left[] = {
    {"GET", "/left", show_left, false},
    {"POST", "/job/:number/dispose", dispose, false},
    {0},
};
