// SPDX-License-Identifier: MIT
// The job's page: its head, the work line, and the work in its order.
#include "web/job/job_page.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/job/verdict.h"
#include "book/shop/settings.h"
#include "book/store/attachment.h"
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

void dw_job_section_begin(DwJobView *view, int part)
{
    DwHtml *html = view->page->html;
    const char *key = dw_job_part_key(part);
    const DwStation *station = part < DW_STATION_COUNT ? &view->stations[part] : NULL;
    char heading[40];
    snprintf(heading, sizeof heading, "%s-title", key);
    dw_html_open(html, "section", "id", key, "class", "opened", "aria-labelledby", heading, NULL);
    dw_html_element(html, "h2", dw_job_part_name(part), "id", heading, NULL);
    if (station && *station->missing)
        dw_html_element(html, "p", dw_words(station->missing), "class",
                        station->state == DW_STATION_STALE ? "caution" : "quiet", NULL);
}

void dw_job_section_end(DwJobView *view)
{
    dw_html_close(view->page->html, "section");
}

void dw_job_section_fold(DwJobView *view, const char *id, const char *words, const char *holds, bool open)
{
    DwHtml *html = view->page->html;
    dw_html_open(html, "details", "class", "add", "id", id ? id : DW_HTML_NONE, "open", DW_HTML_IF(open), NULL);
    dw_html_open(html, "summary", NULL);
    dw_html_open(html, "span", NULL);
    dw_html_text(html, words);
    if (*holds)
        dw_html_element(html, "small", holds, NULL);
    dw_html_close(html, "span");
    dw_html_close(html, "summary");
}

void dw_job_section_unfold(DwJobView *view)
{
    dw_html_close(view->page->html, "details");
}

bool dw_job_section_opens(const DwJobView *view, const DwEntity *entity)
{
    return dw_record_form_opened(view->request, entity) != 0;
}

void dw_job_section_list(DwJobView *view, const DwEntity *entity, const char *key, int64_t id, const char *columns,
                         bool fixed)
{
    DwRecords records = {0};
    if (dw_record_list(view->request->book, entity, key, id, &records, NULL) != DW_OK)
        return;
    dw_record_form_list(view->page, &records, columns, fixed ? 0 : dw_record_form_opened(view->request, entity),
                        fixed ? NULL : view->path);
    dw_records_clear(&records);
}

void dw_job_section_form(DwJobView *view, const char *act)
{
    char *action = dw_text_format("%s/%s", view->path, act);
    dw_form_begin(view->page, action, false);
    free(action);
}

char *dw_job_section_amount(const DwJobView *view, int64_t amount)
{
    if (amount == DW_AMOUNT_NONE)
        return dw_memory_text("–");
    char *number = dw_money_text(amount, (int)dw_settings_integer(view->request->book, "money.digits"));
    char *currency = dw_settings_text(view->request->book, "money.currency");
    char *whole = dw_text_format("%s\u202F%s", number, currency);
    free(number);
    free(currency);
    return whole;
}

static void write_station(DwJobView *view, DwStationKind kind)
{
    DwHtml *html = view->page->html;
    const DwStation *station = &view->stations[kind];
    char *link = dw_job_part_path(view, (int)kind);
    dw_html_open(html, "li", "class", state_class(station->state), NULL);
    dw_html_open(html, "a", "href", link, "aria-current", view->open == (int)kind ? "step" : DW_HTML_NONE, NULL);
    dw_html_element(html, "span", "", "class", "stop", "aria-hidden", "true", NULL);
    dw_html_open(html, "span", "class", "name", NULL);
    dw_html_text(html, dw_words(dw_station_word(kind)));
    dw_html_element(html, "small", state_words(station->state), NULL);
    dw_html_close(html, "span");
    dw_html_close(html, "a");
    dw_html_close(html, "li");
    free(link);
}

static void write_line(DwJobView *view)
{
    DwHtml *html = view->page->html;
    dw_html_open(html, "nav", "class", "line", "aria-label", _("The work line"), NULL);
    dw_html_open(html, "ol", NULL);
    for (DwStationKind kind = DW_STATION_INTAKE; kind < DW_STATION_COUNT; kind++)
        write_station(view, kind);
    dw_html_close(html, "ol");
    dw_html_close(html, "nav");
}

static void write_verdicts(DwJobView *view)
{
    DwHtml *html = view->page->html;
    const char *questions[] = {_("Safe to use?"), _("Safe for records?"), _("Performs to its class?")};
    DwOverall overall[DW_ASPECT_COUNT];
    if (dw_verdict_overall(view->request->book, view->job.record.id, overall, NULL) != DW_OK)
        return;
    dw_html_open(html, "dl", "class", "verdicts", NULL);
    for (int i = DW_ASPECT_USE; i <= DW_ASPECT_PERFORMANCE; i++) {
        dw_html_open(html, "div", NULL);
        dw_html_element(html, "dt", questions[i], NULL);
        dw_html_open(html, "dd", NULL);
        dw_page_verdict(view->page, overall[i].grade);
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

static void write_lost_of(DwJobView *view, const char *format, const char *names)
{
    if (!*names)
        return;
    char *words = dw_text_format(format, names);
    dw_page_caution(view->page, words);
    free(words);
}

// A picture that is gone, or is not what was kept, is told where the job is looked at.
static void write_lost(DwJobView *view)
{
    DwAttachmentTroubles troubles;
    if (dw_attachment_troubles(view->request->book, view->job.record.id, &troubles, NULL) != DW_OK)
        return;
    write_lost_of(view, _("Missing from the book's disk: %s. No paper shows it; a backup may still have it."),
                  troubles.missing);
    write_lost_of(view, _("Changed since it was kept: %s. It is no evidence as it is; a backup may have it whole."),
                  troubles.changed);
    if (troubles.count)
        dw_page_link(view->page, "/shop/backup", _("To the backup"));
    dw_attachment_troubles_clear(&troubles);
}

static void write_lead(DwJobView *view)
{
    DwHtml *html = view->page->html;
    const DwJob *job = &view->job;
    char *owner = dw_text_format("/book/customer/%lld", (long long)view->owner.record.id);
    char *state = dw_job_part_path(view, DW_JOB_PART_STATE);
    char day[DW_DATE_SIZE];
    dw_moment_day(job->state_since, day);
    dw_html_open(html, "p", "class", "lead", NULL);
    dw_html_element(html, "a", or_nothing(view->owner.name), "href", owner, NULL);
    dw_html_text(html, " · ");
    dw_html_open(html, "a", "href", state, NULL);
    dw_html_text(html, dw_words(dw_job_state_word((DwJobState)job->state)));
    if (job->waiting_for && *job->waiting_for)
        dw_html_format(html, " (%s)", job->waiting_for);
    dw_html_close(html, "a");
    dw_html_format(html, _(" since %s"), day);
    if (job->promised_on && *job->promised_on)
        dw_html_format(html, _(" · promised %s"), job->promised_on);
    if (job->place && *job->place)
        dw_html_format(html, " · %s", job->place);
    dw_html_close(html, "p");
    free(owner);
    free(state);
}

static void write_head(DwJobView *view)
{
    DwHtml *html = view->page->html;
    dw_html_open(html, "div", "class", "job-head", NULL);
    dw_html_open(html, "div", NULL);
    dw_html_open(html, "h1", NULL);
    dw_html_format(html, "%04lld %s %s", (long long)view->job.number, or_nothing(view->deck.make),
                   or_nothing(view->deck.model));
    dw_html_close(html, "h1");
    write_lead(view);
    dw_html_close(html, "div");
    write_verdicts(view);
    dw_html_close(html, "div");
    write_lost(view);
}

static void write_folded(DwJobView *view, int part)
{
    DwHtml *html = view->page->html;
    const char *key = dw_job_part_key(part);
    char *path = dw_job_part_path(view, part), *words = dw_job_fold_words(view, part);
    bool done = part < DW_STATION_COUNT && view->stations[part].state == DW_STATION_DONE;
    dw_html_open(html, "section", "id", key, "class", done ? "folded done" : "folded", NULL);
    dw_html_open(html, "h2", NULL);
    dw_html_element(html, "a", dw_job_part_name(part), "href", path, NULL);
    dw_html_close(html, "h2");
    if (*words)
        dw_html_element(html, "p", words, "class", "holds", NULL);
    dw_html_close(html, "section");
    free(path);
    free(words);
}

static void write_sections(DwJobView *view)
{
    static void (*const parts[DW_JOB_PART_COUNT])(DwJobView *) = {
        [DW_STATION_INTAKE] = dw_job_page_intake,           [DW_STATION_SAFETY] = dw_job_page_safety,
        [DW_STATION_AS_RECEIVED] = dw_job_page_as_received, [DW_STATION_FINDINGS] = dw_job_page_findings,
        [DW_STATION_ESTIMATE] = dw_job_page_estimate,       [DW_STATION_WORK] = dw_job_page_work,
        [DW_STATION_SET_UP] = dw_job_page_set_up,           [DW_STATION_AS_LEFT] = dw_job_page_as_left,
        [DW_STATION_PAPERS] = dw_job_page_papers,           [DW_JOB_PART_STATE] = dw_job_page_state,
    };
    dw_html_open(view->page->html, "div", "class", "sections", NULL);
    for (int part = 0; part < DW_JOB_PART_COUNT; part++)
        if (part == view->open)
            parts[part](view);
        else
            write_folded(view, part);
    dw_html_close(view->page->html, "div");
}

// What the set-up says of itself: the first setting that another has made doubtful.
static DwStatus load_set_up(DwJobView *view, DwMessage *message)
{
    DwSetupState state;
    DwStatus status = dw_setup_state_read(view->request->book, view->job.record.id, "", &state, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < dw_guide_setup_count() && !view->set_up_why; i++)
        view->set_up_why = dw_setup_state_why(&state, i);
    dw_setup_state_clear(&state);
    view->facts.set_up_stale = view->set_up_why;
    return DW_OK;
}

static DwStatus load_parts(DwJobView *view, DwMessage *message)
{
    DwBook *book = view->request->book;
    DwStatus status = dw_record_load(book, &view->owner.record, view->job.customer_id, message);
    if (status == DW_OK && view->job.deck_id)
        status = dw_record_load(book, &view->deck.record, view->job.deck_id, message);
    if (status == DW_OK)
        status = dw_work_line_read(book, view->job.record.id, &view->facts, message);
    if (status == DW_OK && view->facts.intake)
        status = dw_intake_of_job(book, view->job.record.id, &view->intake, message);
    if (status == DW_OK)
        status = load_set_up(view, message);
    if (status == DW_OK)
        status = dw_job_numbers_read(book, view->job.record.id, &view->numbers, message);
    if (status == DW_OK)
        dw_work_line_judge(&view->facts, view->stations);
    return status;
}

static void write_way_out(DwJobView *view)
{
    char *path = dw_job_part_path(view, view->open);
    dw_html_element(view->page->html, "a", _("All of the job"), "href", path, "class", "button second way-out", NULL);
    free(path);
}

static DwAnswer write_page(DwJobView *view)
{
    char *title = dw_text_format("%04lld %s %s", (long long)view->job.number, or_nothing(view->deck.make),
                                 or_nothing(view->deck.model));
    view->page = dw_page_begin(
        view->request, &(DwPageHead){.title = title, .style = "job.css", .script = "job.js", .room = DW_ROOM_BOARD});
    view->open = dw_job_part_open(view);
    snprintf(view->page->part, sizeof view->page->part, "at=%s", dw_job_part_key(view->open));
    write_head(view);
    dw_job_now_write(view);
    // One entry is looked at: on a telephone the rest of the job stands back.
    bool near = *dw_request_query(view->request, "open") || *dw_request_query(view->request, "zone");
    dw_html_open(view->page->html, "div", "class", near ? "job near" : "job", NULL);
    write_line(view);
    write_sections(view);
    if (near)
        write_way_out(view);
    dw_job_aside_write(view);
    dw_html_close(view->page->html, "div");
    DwAnswer answer = dw_page_end(view->page);
    free(title);
    return answer;
}

static DwAnswer show_job(const DwWebRequest *request)
{
    DwAnswer answer;
    DwJobView view = {.request = request};
    DwMessage message;
    dw_record_init(&view.deck.record, &dw_deck_entity);
    dw_record_init(&view.owner.record, &dw_customer_entity);
    dw_record_init(&view.intake.record, &dw_intake_entity);
    if (dw_job_head_find(request, &view.job, &answer)) {
        snprintf(view.path, sizeof view.path, "/job/%04lld", (long long)view.job.number);
        DwStatus status = load_parts(&view, &message);
        if (status == DW_OK)
            answer = write_page(&view);
        else
            answer = dw_answer_trouble(status, &message);
    }
    free(view.set_up_why);
    dw_job_numbers_clear(&view.numbers);
    dw_record_clear(&view.job.record);
    dw_record_clear(&view.deck.record);
    dw_record_clear(&view.owner.record);
    dw_record_clear(&view.intake.record);
    return answer;
}

const DwWebRoute dw_routes_job[] = {
    {"GET", "/job/:number", show_job, false},
    {0},
};
