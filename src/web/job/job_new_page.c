// SPDX-License-Identifier: MIT
// A new job: only the deck is compulsory, and it may be known already.
#include "base/memory.h"
#include "base/text.h"
#include "book/entry/entry.h"
#include "book/entry/search.h"
#include "book/job/intake.h"
#include "book/job/job.h"
#include "book/shop/deck.h"
#include "web/job/pages.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_HITS = 40 };

static void write_search(DwPage *page, const char *words, const DwJob *first)
{
    DwHtml *html = page->html;
    dw_html_open(html, "form", "method", "get", "action", "/job/new", NULL);
    if (first->record.id) {
        char *number = dw_text_format("%04lld", (long long)first->number);
        dw_html_void(html, "input", "type", "hidden", "name", "with", "value", number, NULL);
        free(number);
    }
    dw_form_text(page, "words", _("Known already? Find the deck or its owner"), words, "search",
                 _("By name, telephone, make, model or serial."));
    dw_form_button(page, _("Find"));
    dw_html_close(html, "form");
}

static void write_radio(DwPage *page, const char *name, const char *value, const char *words, const char *detail,
                        bool chosen)
{
    DwHtml *html = page->html;
    dw_html_open(html, "label", "class", "tick", NULL);
    dw_html_void(html, "input", "type", "radio", "name", name, "value", value, "checked", DW_HTML_IF(chosen), NULL);
    dw_html_open(html, "span", NULL);
    dw_html_text(html, words);
    if (*detail)
        dw_html_element(html, "small", detail, NULL);
    dw_html_close(html, "span");
    dw_html_close(html, "label");
}

// The hits that are of ENTITY as choices of the field NAME; the first is chosen when it is the only one.
static void write_known(DwPage *page, const DwHits *hits, const DwEntity *entity, const char *name, const char *none)
{
    size_t count = 0;
    for (size_t i = 0; i < hits->count; i++)
        count += hits->hits[i].entity == entity;
    for (size_t i = 0; i < hits->count; i++) {
        const DwHit *hit = &hits->hits[i];
        if (hit->entity != entity)
            continue;
        char *id = dw_text_format("%lld", (long long)hit->id);
        write_radio(page, name, id, hit->title, hit->detail, count == 1);
        free(id);
    }
    if (count)
        write_radio(page, name, "", none, "", count != 1);
}

static void write_deck(DwPage *page, const DwHits *hits)
{
    dw_html_open(page->html, "fieldset", NULL);
    dw_html_element(page->html, "legend", _("Deck"), NULL);
    write_known(page, hits, &dw_deck_entity, "deck", _("Another deck:"));
    dw_html_open(page->html, "div", "class", "fields", NULL);
    dw_form_text(page, "make", _("Make"), "", "text", NULL);
    dw_form_text(page, "model", _("Model"), "", "text", NULL);
    dw_form_text(page, "serial", _("Serial"), "", "text", _("One of the three is enough."));
    dw_html_close(page->html, "div");
    dw_html_close(page->html, "fieldset");
}

static void write_owner(DwPage *page, const DwHits *hits)
{
    dw_html_open(page->html, "fieldset", NULL);
    dw_html_element(page->html, "legend", _("Owner"), NULL);
    write_known(page, hits, &dw_customer_entity, "customer", _("The deck's owner as the book knows, or a new one:"));
    dw_html_open(page->html, "div", "class", "fields", NULL);
    dw_form_text(page, "name", _("Name"), "", "text", _("Empty: the deck's owner as the book knows, or named later."));
    dw_form_text(page, "phone", _("Telephone"), "", "text", NULL);
    dw_form_text(page, "email", _("Email"), "", "email", NULL);
    dw_html_close(page->html, "div");
    dw_html_close(page->html, "fieldset");
}

// The first of the visit of the job that the address or the form names in "with"; an empty record (id 0) without one.
static DwStatus find_with(const DwWebRequest *request, const char *number, DwJob *first, DwMessage *message)
{
    dw_record_init(&first->record, &dw_job_entity);
    DwStatus status = *number ? dw_job_find(request->book, number, first, message) : DW_OK;
    return status == DW_OK && first->came_with_id
               ? dw_record_load(request->book, &first->record, first->came_with_id, message)
               : status;
}

// Its owner is that of the job it came in with.
static void write_visitor(DwPage *page, const DwJob *first)
{
    DwCustomer owner;
    char *number = dw_text_format("%04lld", (long long)first->number);
    dw_record_init(&owner.record, &dw_customer_entity);
    if (dw_record_load(page->request->book, &owner.record, first->customer_id, NULL) == DW_OK) {
        dw_html_open(page->html, "p", NULL);
        dw_html_format(page->html, _("It came in together with job %s, of %s: one receipt is for all of them."), number,
                       owner.name);
        dw_html_close(page->html, "p");
    }
    dw_html_void(page->html, "input", "type", "hidden", "name", "with", "value", number, NULL);
    dw_record_clear(&owner.record);
    free(number);
}

static void write_form(DwPage *page, const DwHits *hits, const DwJob *first)
{
    DwHtml *html = page->html;
    dw_form_begin(page, "/job/new", false);
    write_deck(page, hits);
    if (first->record.id)
        write_visitor(page, first);
    else
        write_owner(page, hits);
    dw_form_area(page, "words", _("The owner's words"), "",
                 _("Verbatim: what, when, since when. May be written later."));
    dw_html_open(html, "label", "class", "tick", NULL);
    dw_html_void(html, "input", "type", "checkbox", "name", "here", "value", "yes", "checked", DW_HTML_BARE, NULL);
    dw_html_element(html, "span", _("The deck is here"), NULL);
    dw_html_close(html, "label");
    dw_html_open(html, "div", "class", "acts", NULL);
    dw_form_button(page, _("Open the job"));
    dw_html_close(html, "div");
    dw_form_end(page);
}

static DwAnswer show_new(const DwWebRequest *request)
{
    const char *words = dw_request_query(request, "words");
    DwHits hits = {0};
    DwMessage message;
    DwJob first;
    DwStatus status = find_with(request, dw_request_query(request, "with"), &first, &message);
    if (status == DW_OK)
        status = dw_search_words(request->book, words, MOST_HITS, &hits, &message);
    if (status != DW_OK) {
        dw_record_clear(&first.record);
        return dw_answer_trouble(status, &message);
    }
    DwPage *page =
        dw_page_begin(request, &(DwPageHead){.title = _("New job"), .style = "job.css", .room = DW_ROOM_BOARD});
    DwHtml *html = page->html;
    dw_html_element(html, "h1", _("New job"), NULL);
    write_search(page, words, &first);
    if (*words && hits.count == 0)
        dw_page_remark(page, _("Nothing was found. Type the deck below."));
    write_form(page, &hits, &first);
    DwAnswer answer = dw_page_end(page);
    dw_record_clear(&first.record);
    dw_hits_clear(&hits);
    return answer;
}

// Sets KEY of RECORD to the field NAME that was sent.
static DwStatus take(const DwWebRequest *request, DwRecord *record, const char *key, const char *name,
                     DwMessage *message)
{
    return dw_record_set(request->book, record, key, dw_request_field(request, name), message);
}

static int64_t chosen(const DwWebRequest *request, const char *name)
{
    return strtoll(dw_request_field(request, name), NULL, 10);
}

// A new deck from what was typed of it: make, model or serial, one is enough.
static DwStatus add_deck(const DwWebRequest *request, DwDeck *deck, DwMessage *message)
{
    static const char *const keys[] = {"make", "model", "serial"};
    DwStatus status = DW_OK;
    bool typed = false;
    for (size_t i = 0; i < 3 && status == DW_OK; i++) {
        const char *text = dw_request_field(request, keys[i]);
        typed = typed || *text;
        // The book wants a make of every deck; one that is not known yet says so.
        bool named = *text || strcmp(keys[i], "make") != 0;
        status = dw_record_set(request->book, &deck->record, keys[i], named ? text : _("unknown"), message);
    }
    if (status == DW_OK && !typed)
        return dw_fail(message, DW_BAD_INPUT, "Say which deck it is: its make, its model or its serial.");
    return status == DW_OK ? dw_entry_add(request->book, &deck->record, message) : status;
}

static DwStatus find_deck(const DwWebRequest *request, int64_t *id, DwMessage *message)
{
    DwDeck deck;
    dw_record_init(&deck.record, &dw_deck_entity);
    int64_t known = chosen(request, "deck");
    DwStatus status =
        known ? dw_record_load(request->book, &deck.record, known, message) : add_deck(request, &deck, message);
    *id = deck.record.id;
    dw_record_clear(&deck.record);
    return status;
}

static DwStatus find_owner(const DwWebRequest *request, int64_t deck, int64_t *id, DwMessage *message)
{
    DwCustomer owner;
    *id = chosen(request, "customer");
    bool named = *dw_request_field(request, "name") != '\0';
    DwStatus status = *id || named ? DW_OK : dw_deck_owner(request->book, deck, id, message);
    if (status != DW_OK)
        return status;
    dw_record_init(&owner.record, &dw_customer_entity);
    if (*id)
        status = dw_record_load(request->book, &owner.record, *id, message);
    else {
        // A job belongs to somebody, who may be named later.
        status = dw_record_set(request->book, &owner.record, "name",
                               named ? dw_request_field(request, "name") : _("Owner not named yet"), message);
        if (status == DW_OK)
            status = take(request, &owner.record, "phone", "phone", message);
        if (status == DW_OK)
            status = take(request, &owner.record, "email", "email", message);
        if (status == DW_OK)
            status = dw_entry_add(request->book, &owner.record, message);
    }
    *id = owner.record.id;
    dw_record_clear(&owner.record);
    return status;
}

static DwStatus take_in(const DwWebRequest *request, int64_t job, DwMessage *message)
{
    DwIntake intake;
    dw_record_init(&intake.record, &dw_intake_entity);
    intake.job_id = job;
    DwStatus status = take(request, &intake.record, "words", "words", message);
    if (status == DW_OK)
        status = dw_record_set(request->book, &intake.record, "received_by", dw_book_actor(request->book), message);
    if (status == DW_OK)
        status = dw_entry_add(request->book, &intake.record, message);
    if (status == DW_OK)
        status = dw_job_move(request->book, job, DW_JOB_RECEIVED, "", "", message);
    dw_record_clear(&intake.record);
    return status;
}

static DwStatus open_job(const DwWebRequest *request, int64_t *number, DwMessage *message)
{
    DwJob job, first;
    dw_record_init(&job.record, &dw_job_entity);
    DwStatus status = dw_book_begin(request->book, message);
    if (status != DW_OK)
        return status;
    status = find_with(request, dw_request_field(request, "with"), &first, message);
    job.came_with_id = first.record.id;
    job.customer_id = first.customer_id;
    if (status == DW_OK)
        status = find_deck(request, &job.deck_id, message);
    if (status == DW_OK && !job.customer_id)
        status = find_owner(request, job.deck_id, &job.customer_id, message);
    if (status == DW_OK)
        status = dw_deck_give(request->book, job.deck_id, job.customer_id, message);
    if (status == DW_OK)
        status = dw_job_open(request->book, &job, message);
    bool here = strcmp(dw_request_field(request, "here"), "yes") == 0 || *dw_request_field(request, "words");
    if (status == DW_OK && here)
        status = take_in(request, job.record.id, message);
    *number = job.number;
    dw_record_clear(&job.record);
    dw_record_clear(&first.record);
    return dw_book_end(request->book, status, message);
}

static DwAnswer make_job(const DwWebRequest *request)
{
    DwMessage message;
    int64_t number = 0;
    DwStatus status = open_job(request, &number, &message);
    if (status == DW_OK)
        return dw_answer_go("/job/%04lld", (long long)number);
    return dw_answer_trouble(status, &message);
}

const DwWebRoute dw_routes_job_new[] = {
    {"GET", "/job/new", show_new, false},
    {"POST", "/job/new", make_job, false},
    {0},
};
