// SPDX-License-Identifier: MIT
// A sheet just measured, and one of the book: its page and what is done with it.
#include "base/sheet_json.h"
#include "base/text.h"
#include "procedure/job/job_sheet.h"
#include "web/job/job_line.h"
#include "web/measure/pages.h"
#include "web/measure/sheet_source.h"
#include "web/measure/sheet_view.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void write_link(DwPage *page, const char *path, const char *words)
{
    dw_html_element(page->html, "a", words, "class", "button second", "href", path, NULL);
}

// Links to the files that the sheet can be had as.
static void write_files(DwPage *page, const DwSheetSource *source, bool prints)
{
    DwHtml *html = page->html;
    const char *mark = *source->query ? "?" : "";
    char *paper = dw_text_format("%s/paper%s%s", source->place, mark, source->query);
    char *json = dw_text_format("%s/json", source->place), *print = dw_text_format("%s/print", source->place);
    if (prints) {
        dw_html_element(html, "h2", _("To print"), NULL);
        dw_html_element(
            html, "p",
            _("Print it at 100 %, not fitted to the page. Then measure both 100 mm rulers on the paper: if one "
              "is off, give what it measures in the form under Printer, and print again."),
            NULL);
    }
    dw_html_open(html, "div", "class", "acts", NULL);
    if (prints)
        dw_page_link(page, print, _("The true-scale paper (PDF)"));
    write_link(page, paper, _("The sheet as PDF"));
    write_link(page, json, _("The numbers (JSON)"));
    dw_html_close(html, "div");
    free(paper);
    free(json);
    free(print);
}

static void write_keep(DwPage *page, const DwSheetSource *source)
{
    DwHtml *html = page->html;
    char *action = dw_text_format("%s/keep", source->place);
    dw_html_open(html, "section", "class", "keep", "aria-label", _("Keep this sheet"), NULL);
    dw_html_element(html, "h2", _("Keep this sheet"), NULL);
    dw_html_element(html, "p", _("It is not in the book yet, and is gone when the bench is switched off."), NULL);
    dw_form_begin(page, action, false);
    dw_html_open(html, "div", "class", "fields", NULL);
    dw_job_line_choose(page, "job", source->result->job);
    dw_job_line_choose_phase(page, "as", source->result->as);
    dw_html_close(html, "div");
    dw_html_open(html, "div", "class", "acts", NULL);
    dw_form_button(page, _("Keep"));
    char *again =
        dw_text_format("/measure/%s%s%s%s%s", source->result->procedure->name, *source->result->job ? "?job=" : "",
                       source->result->job, *source->result->as ? "&as=" : "", source->result->as);
    write_link(page, again, _("Measure again"));
    dw_html_close(html, "div");
    dw_form_end(page);
    dw_html_close(html, "section");
    free(again);
    free(action);
}

static void write_result_job(DwPage *page, const DwResult *result)
{
    DwJob job;
    DwMessage message;
    dw_record_init(&job.record, &dw_job_entity);
    if (*result->job && dw_job_find(page->request->book, result->job, &job, &message) == DW_OK)
        dw_job_line_write(page, &job, result->as);
    dw_record_clear(&job.record);
}

static DwAnswer show_result(const DwWebRequest *request)
{
    DwAnswer answer;
    DwSheetSource source;
    if (!dw_sheet_source_open(request, &source, &answer))
        return answer;
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = dw_words(source.sheet->title),
                                                        .style = "measure.css",
                                                        .room = DW_ROOM_MEASURE,
                                                        .help = source.sheet->procedure});
    DwHtml *html = page->html;
    DwSheetView view = dw_sheet_source_view(&source);
    dw_html_element(html, "h1", dw_words(source.sheet->title), NULL);
    write_result_job(page, source.result);
    DwSheetNext next = {source.sheet, source.result->job, source.result->as};
    view.next = &next;
    dw_sheet_next_compare(page, &next);
    dw_sheet_view_write(page, &view);
    write_keep(page, &source);
    write_files(page, &source, source.result->procedure->print != NULL);
    answer = dw_page_end(page);
    dw_sheet_source_clear(request, &source);
    return answer;
}

// Keeps a copy of RESULT's sheet, which then has the shop's limits, and gives its id.
static DwStatus keep(const DwWebRequest *request, const DwResult *result, int64_t *id, DwMessage *message)
{
    DwPhase phase = DW_PHASE_NONE;
    const char *job = dw_request_field(request, "job");
    DwStatus status = dw_job_sheet_phase(dw_request_field(request, "as"), &phase, message);
    if (status == DW_OK && !*job)
        status = dw_fail(message, DW_BAD_INPUT, "%s", _("Say on which job the sheet is to be kept."));
    if (status != DW_OK)
        return status;
    DwSheet *copy;
    char *json = dw_sheet_json_write(result->sheet);
    status = dw_sheet_json_read(json, &copy, message);
    free(json);
    if (status != DW_OK)
        return status;
    status = dw_job_sheet_keep(request->book, job, phase, copy, id, message);
    dw_sheet_free(copy);
    return status;
}

static DwAnswer post_keep(const DwWebRequest *request)
{
    DwAnswer answer;
    DwSheetSource source;
    DwMessage message;
    int64_t id = 0;
    if (!dw_sheet_source_open(request, &source, &answer))
        return answer;
    DwResults *results = request->site->results;
    if (!dw_results_claim(results, source.result)) {
        answer = dw_answer_refusal(409, _("This sheet is kept already. It is on its job's page."));
    } else {
        DwStatus status = keep(request, source.result, &id, &message);
        if (status == DW_OK)
            answer = dw_answer_go("/sheet/%lld", (long long)id);
        else {
            dw_results_unclaim(results, source.result);
            answer = dw_answer_trouble(status, &message);
        }
    }
    dw_sheet_source_clear(request, &source);
    return answer;
}

// The sheets of the same procedure as received, to hold this one against.
static void write_pairs(DwPage *page, const DwSheetSource *source)
{
    DwRecords records;
    DwMessage message;
    const DwMeasurement *this = &source->measurement;
    if (this->phase == DW_PHASE_AS_RECEIVED ||
        dw_measurement_standing(page->request->book, this->job_id, &records, &message) != DW_OK)
        return;
    dw_html_open(page->html, "div", "class", "acts", NULL);
    for (size_t i = 0; i < records.count; i++) {
        const DwMeasurement *other = (const DwMeasurement *)dw_records_at(&records, i);
        if (other->phase != DW_PHASE_AS_RECEIVED || strcmp(other->procedure, this->procedure) != 0)
            continue;
        bool shown = source->before && source->before_from.record.id == other->record.id;
        char *path = shown ? dw_text_format("%s", source->place)
                           : dw_text_format("%s?with=%lld", source->place, (long long)other->record.id);
        char *words = shown ? dw_text_format("%s", _("This sheet alone"))
                            : dw_text_format(_("Beside what was received (%s)"), dw_page_moment(other->at).text);
        write_link(page, path, words);
        free(path);
        free(words);
    }
    dw_html_close(page->html, "div");
    dw_records_clear(&records);
}

static void write_withdrawal(DwPage *page, const DwSheetSource *source)
{
    const DwMeasurement *this = &source->measurement;
    DwHtml *html = page->html;
    if (this->withdrawn_at && *this->withdrawn_at) {
        dw_html_open(html, "p", "class", "remark", NULL);
        dw_html_format(html, _("Withdrawn: %s"), this->withdrawn_why);
        dw_html_close(html, "p");
        return;
    }
    char *action = dw_text_format("%s/withdraw", source->place);
    dw_html_open(html, "details", NULL);
    dw_html_element(html, "summary", _("Withdraw this sheet"), NULL);
    dw_html_element(html, "p", _("It stays in the book with your reason, and no paper or comparison uses it any more."),
                    NULL);
    dw_form_begin(page, action, false);
    dw_form_text(page, "why", _("Why it is wrong"), "", "text", NULL);
    dw_form_button(page, _("Withdraw"));
    dw_form_end(page);
    dw_html_close(html, "details");
    free(action);
}

static void write_kept_head(DwPage *page, const DwSheetSource *source)
{
    DwJob job;
    DwMessage message;
    dw_record_init(&job.record, &dw_job_entity);
    if (dw_record_load(page->request->book, &job.record, source->measurement.job_id, &message) == DW_OK)
        dw_job_line_write(page, &job, dw_job_line_as((DwPhase)source->measurement.phase));
    dw_record_clear(&job.record);
}

// Where what follows from a sheet of the book goes; NUMBER keeps its job's number.
static DwSheetNext next_of(DwPage *page, const DwSheetSource *source, char number[24])
{
    DwJob job;
    *number = 0;
    dw_record_init(&job.record, &dw_job_entity);
    if (dw_record_load(page->request->book, &job.record, source->measurement.job_id, NULL) == DW_OK)
        snprintf(number, 24, "%04lld", (long long)job.number);
    dw_record_clear(&job.record);
    return (DwSheetNext){source->sheet, number, dw_job_line_as((DwPhase)source->measurement.phase)};
}

static DwAnswer show_kept(const DwWebRequest *request)
{
    DwAnswer answer;
    DwSheetSource source;
    if (!dw_sheet_source_open(request, &source, &answer))
        return answer;
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = dw_words(source.sheet->title),
                                                        .style = "measure.css",
                                                        .room = DW_ROOM_MEASURE,
                                                        .help = source.sheet->procedure});
    DwHtml *html = page->html;
    DwSheetView view = dw_sheet_source_view(&source);
    char number[24];
    DwSheetNext next = next_of(page, &source, number);
    dw_html_element(html, "h1", dw_words(source.sheet->title), NULL);
    write_kept_head(page, &source);
    if (!request->locked) {
        write_pairs(page, &source);
        dw_sheet_supply_write(page, &source);
        dw_sheet_next_write(page, &next);
        view.next = &next;
    }
    dw_sheet_view_write(page, &view);
    if (!request->locked) {
        dw_page_hand_over(page, source.place);
        write_files(page, &source, false);
        write_withdrawal(page, &source);
    }
    answer = dw_page_end(page);
    dw_sheet_source_clear(request, &source);
    return answer;
}

static DwAnswer post_withdraw(const DwWebRequest *request)
{
    DwMessage message;
    int64_t id = dw_request_id(request, "id");
    DwStatus status = dw_measurement_withdraw(request->book, id, dw_request_field(request, "why"), &message);
    if (status == DW_OK)
        return dw_answer_go("/sheet/%lld", (long long)id);
    return dw_answer_trouble(status, &message);
}

const DwWebRoute dw_routes_sheet[] = {
    {"GET", "/result/:key", show_result, false},
    {"POST", "/result/:key/keep", post_keep, false},
    {"GET", "/sheet/:id", show_kept, false},
    {"POST", "/sheet/:id/withdraw", post_withdraw, false},
    {0},
};
