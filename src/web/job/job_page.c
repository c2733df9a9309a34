// SPDX-License-Identifier: MIT
// The job's page: its head, the work line, and the work in its order.
#include "web/job/job_page.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/job/verdict.h"
#include "book/shop/settings.h"
#include "web/job/job_head.h"
#include "web/job/pages.h"
#include "web/job/setup_state.h"
#include "web/page/page.h"
#include "web/record/record_form.h"
#include "web/server/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *state_words(DwStationState state)
{
    switch (state) {
    case DW_STATION_OPEN:
        return _("open");
    case DW_STATION_DONE:
        return _("done");
    case DW_STATION_STALE:
        return _("look again");
    }
    return "";
}

static const char *state_class(DwStationState state)
{
    switch (state) {
    case DW_STATION_OPEN:
        return "station open";
    case DW_STATION_DONE:
        return "station done";
    case DW_STATION_STALE:
        return "station stale";
    }
    return "";
}

void dw_job_section_begin(DwJobPage *page, DwStationKind kind)
{
    DwHtml *html = page->request->html;
    const char *key = dw_station_key(kind), *missing = page->stations[kind].missing;
    char heading[40];
    snprintf(heading, sizeof heading, "%s-title", key);
    dw_html_open(html, "section", "id", key, "aria-labelledby", heading, NULL);
    dw_html_element(html, "h2", dw_words(dw_station_word(kind)), "id", heading, NULL);
    if (*missing)
        dw_html_element(html, "p", dw_words(missing), "class",
                        page->stations[kind].state == DW_STATION_STALE ? "caution" : "quiet", NULL);
}

void dw_job_section_end(DwJobPage *page)
{
    dw_html_close(page->request->html, "section");
}

void dw_job_section_list(DwJobPage *page, const DwEntity *entity, const char *key, int64_t id, const char *columns,
                         bool fixed)
{
    DwRecords records = {0};
    if (dw_record_list(page->request->book, entity, key, id, &records, NULL) != DW_OK)
        return;
    dw_record_form_list(page->request, &records, columns, fixed ? 0 : dw_record_form_opened(page->request, entity),
                        fixed ? NULL : page->path);
    dw_records_clear(&records);
}

void dw_job_section_form(DwJobPage *page, const char *act)
{
    char *action = dw_text_format("%s/%s", page->path, act);
    dw_form_begin(page->request, action, false);
    free(action);
}

char *dw_job_section_amount(const DwJobPage *page, int64_t amount)
{
    if (amount == DW_AMOUNT_NONE)
        return dw_memory_text("–");
    char *number = dw_money_text(amount, (int)dw_settings_integer(page->request->book, "money.digits"));
    char *currency = dw_settings_text(page->request->book, "money.currency");
    char *whole = dw_text_format("%s\u202F%s", number, currency);
    free(number);
    free(currency);
    return whole;
}

static void write_station(DwJobPage *page, DwStationKind kind)
{
    DwHtml *html = page->request->html;
    const DwStation *station = &page->stations[kind];
    char link[40];
    snprintf(link, sizeof link, "#%s", dw_station_key(kind));
    dw_html_open(html, "li", "class", state_class(station->state), NULL);
    dw_html_open(html, "a", "href", link, "aria-current",
                 dw_work_line_now(page->stations) == kind ? "step" : DW_HTML_NONE, NULL);
    dw_html_element(html, "span", "", "class", "stop", "aria-hidden", "true", NULL);
    dw_html_open(html, "span", "class", "name", NULL);
    dw_html_text(html, dw_words(dw_station_word(kind)));
    dw_html_element(html, "small", state_words(station->state), NULL);
    dw_html_close(html, "span");
    dw_html_close(html, "a");
    dw_html_close(html, "li");
}

static void write_line(DwJobPage *page)
{
    DwHtml *html = page->request->html;
    dw_html_open(html, "nav", "class", "line", "aria-label", _("The work line"), NULL);
    dw_html_open(html, "ol", NULL);
    for (DwStationKind kind = DW_STATION_INTAKE; kind < DW_STATION_COUNT; kind++)
        write_station(page, kind);
    dw_html_close(html, "ol");
    dw_html_close(html, "nav");
}

static void write_verdicts(DwJobPage *page)
{
    DwHtml *html = page->request->html;
    const char *questions[] = {_("Safe to use?"), _("Safe for records?"), _("Performs to its class?")};
    DwOverall overall[DW_ASPECT_COUNT];
    if (dw_verdict_overall(page->request->book, page->job.record.id, overall, NULL) != DW_OK)
        return;
    dw_html_open(html, "dl", "class", "verdicts", NULL);
    for (int i = DW_ASPECT_USE; i <= DW_ASPECT_PERFORMANCE; i++) {
        dw_html_open(html, "div", NULL);
        dw_html_element(html, "dt", questions[i], NULL);
        dw_html_open(html, "dd", NULL);
        dw_page_verdict(page->request, overall[i].grade);
        if (*overall[i].item)
            dw_html_element(html, "small", overall[i].item, NULL);
        dw_html_close(html, "dd");
        dw_html_close(html, "div");
    }
    dw_html_close(html, "dl");
    dw_verdict_overall_clear(overall);
}

static const char *or_nothing(const char *text)
{
    return text ? text : "";
}

static void write_head(DwJobPage *page)
{
    DwHtml *html = page->request->html;
    const DwJob *job = &page->job;
    char *owner = dw_text_format("/book/customer/%lld", (long long)page->owner.record.id);
    dw_html_open(html, "div", "class", "job-head", NULL);
    dw_html_open(html, "h1", NULL);
    dw_html_format(html, "%04lld %s %s", (long long)job->number, or_nothing(page->deck.make),
                   or_nothing(page->deck.model));
    dw_html_close(html, "h1");
    dw_html_open(html, "p", "class", "lead", NULL);
    dw_html_element(html, "a", or_nothing(page->owner.name), "href", owner, NULL);
    dw_html_text(html, " · ");
    dw_html_open(html, "a", "href", "#state", NULL);
    dw_html_text(html, dw_words(dw_job_state_word((DwJobState)job->state)));
    if (job->waiting_for && *job->waiting_for)
        dw_html_format(html, " (%s)", job->waiting_for);
    dw_html_close(html, "a");
    dw_html_close(html, "p");
    write_verdicts(page);
    dw_html_close(html, "div");
    free(owner);
}

static void write_sections(DwJobPage *page)
{
    dw_html_open(page->request->html, "div", "class", "sections", NULL);
    dw_job_page_intake(page);
    dw_job_page_safety(page);
    dw_job_page_measured(page, DW_PHASE_AS_RECEIVED);
    dw_job_page_findings(page);
    dw_job_page_estimate(page);
    dw_job_page_work(page);
    dw_job_page_set_up(page);
    dw_job_page_measured(page, DW_PHASE_AS_LEFT);
    dw_job_page_papers(page);
    dw_job_page_state(page);
    dw_html_close(page->request->html, "div");
}

// What the set-up says of itself: the first setting that another has made doubtful.
static DwStatus load_set_up(DwJobPage *page, DwWorkFacts *facts, DwMessage *message)
{
    DwSetupState state;
    DwStatus status = dw_setup_state_read(page->request->book, page->job.record.id, &state, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < dw_guide_setup_count() && !page->set_up_why; i++)
        page->set_up_why = dw_setup_state_why(&state, i);
    dw_setup_state_clear(&state);
    facts->set_up_stale = page->set_up_why;
    return DW_OK;
}

static DwStatus load_parts(DwJobPage *page, DwMessage *message)
{
    DwBook *book = page->request->book;
    DwWorkFacts facts;
    DwStatus status = dw_record_load(book, &page->owner.record, page->job.customer_id, message);
    if (status == DW_OK && page->job.deck_id)
        status = dw_record_load(book, &page->deck.record, page->job.deck_id, message);
    if (status == DW_OK)
        status = dw_work_line_read(book, page->job.record.id, &facts, message);
    if (status == DW_OK && facts.intake)
        status = dw_intake_of_job(book, page->job.record.id, &page->intake, message);
    if (status == DW_OK)
        status = load_set_up(page, &facts, message);
    if (status == DW_OK)
        dw_work_line_judge(&facts, page->stations);
    return status;
}

static DwAnswer write_page(DwJobPage *page)
{
    char *title = dw_text_format("%04lld %s %s", (long long)page->job.number, or_nothing(page->deck.make),
                                 or_nothing(page->deck.model));
    DwHtml *html = dw_page_begin(page->request, &(DwPage){.title = title, .style = "job.css", .room = DW_ROOM_BOARD});
    write_head(page);
    dw_html_open(html, "div", "class", "job", NULL);
    write_line(page);
    write_sections(page);
    dw_html_close(html, "div");
    DwAnswer answer = dw_page_end(page->request);
    free(title);
    return answer;
}

static DwAnswer show_job(DwWebRequest *request)
{
    DwAnswer answer;
    DwJobPage page = {.request = request};
    DwMessage message;
    dw_record_init(&page.deck.record, &dw_deck_entity);
    dw_record_init(&page.owner.record, &dw_customer_entity);
    dw_record_init(&page.intake.record, &dw_intake_entity);
    if (dw_job_head_find(request, &page.job, &answer)) {
        snprintf(page.path, sizeof page.path, "/job/%04lld", (long long)page.job.number);
        DwStatus status = load_parts(&page, &message);
        if (status == DW_OK)
            answer = write_page(&page);
        else
            answer = dw_answer_trouble(status, &message);
    }
    free(page.set_up_why);
    dw_record_clear(&page.job.record);
    dw_record_clear(&page.deck.record);
    dw_record_clear(&page.owner.record);
    dw_record_clear(&page.intake.record);
    return answer;
}

const DwWebRoute dw_routes_job[] = {
    {"GET", "/job/:number", show_job, false},
    {0},
};
