// SPDX-License-Identifier: MIT
// The job's page: findings and verdicts, the work, the set-up, the papers, the state.
#include "base/text.h"
#include "book/job/finding.h"
#include "book/job/set_up.h"
#include "book/job/verdict.h"
#include "book/job/work.h"
#include "web/job/job_page.h"
#include "web/page/page.h"
#include "web/record/record_form.h"
#include "web/server/words.h"

#include <stdlib.h>

static void write_link(DwJobPage *page, const char *rest, const char *words)
{
    char *path = dw_text_format("%s/%s", page->path, rest);
    dw_page_link(page->request, path, words);
    free(path);
}

void dw_job_page_findings(DwJobPage *page)
{
    DwWebRequest *request = page->request;
    int64_t job = page->job.record.id;
    dw_job_section_begin(page, DW_STATION_FINDINGS);
    dw_job_section_list(page, &dw_finding_entity, "job_id", job, "confirmed|cause|confidence|test|action|after", false);
    dw_record_form_fold(request, &dw_finding_entity, "job_id", job, NULL, _("Add a finding"));
    dw_html_element(request->html, "h3", _("Verdicts"), NULL);
    DwRecords verdicts = {0};
    dw_verdict_standing(request->book, job, &verdicts, NULL);
    dw_record_form_list(request, &verdicts, "grade|aspect|phase|evidence|action",
                        dw_record_form_opened(request, &dw_verdict_entity), page->path);
    dw_records_clear(&verdicts);
    dw_record_form_fold(request, &dw_verdict_entity, "job_id", job, "item|grade|aspect|phase|evidence|action",
                        _("Give a verdict"));
    dw_job_section_end(page);
}

// What is not done yet has a button for it: the hour is the clock's.
static void write_done_buttons(DwJobPage *page)
{
    DwRecords operations = {0};
    dw_record_list(page->request->book, &dw_operation_entity, "job_id", page->job.record.id, &operations, NULL);
    dw_html_open(page->request->html, "div", "class", "acts", NULL);
    for (size_t i = 0; i < operations.count; i++) {
        const DwOperation *operation = (const DwOperation *)dw_records_at(&operations, i);
        if (operation->done_at || operation->actual_minutes)
            continue;
        char *id = dw_text_format("%lld", (long long)operation->record.id);
        char *words = dw_text_format(_("Done now: %s"), operation->name);
        dw_job_section_form(page, "done");
        dw_html_void(page->request->html, "input", "type", "hidden", "name", "operation", "value", id, NULL);
        dw_html_element(page->request->html, "button", words, "type", "submit", "class", "second", NULL);
        dw_form_end(page->request);
        free(id);
        free(words);
    }
    dw_html_close(page->request->html, "div");
    dw_records_clear(&operations);
}

void dw_job_page_work(DwJobPage *page)
{
    DwWebRequest *request = page->request;
    int64_t job = page->job.record.id;
    dw_job_section_begin(page, DW_STATION_WORK);
    dw_job_section_list(page, &dw_operation_entity, "job_id", job, "quoted_minutes|actual_minutes|done_at|who|note",
                        false);
    write_done_buttons(page);
    dw_record_form_fold(request, &dw_operation_entity, "job_id", job, NULL, _("Add an operation"));
    dw_html_element(request->html, "h3", _("Lubrication by point"), NULL);
    dw_job_section_list(page, &dw_lubrication_entity, "job_id", job, "quantity_ml|drops|note", false);
    dw_record_form_fold(request, &dw_lubrication_entity, "job_id", job, NULL, _("Add a point"));
    dw_html_element(request->html, "h3", _("Parts"), NULL);
    dw_job_section_list(page, &dw_part_entity, "job_id", job, "quantity|condition|stock_id|price|batch|old_part",
                        false);
    dw_record_form_fold(request, &dw_part_entity, "job_id", job, NULL, _("Fit a part"));
    dw_html_open(request->html, "div", "class", "acts", NULL);
    write_link(page, "photos", _("Photographs"));
    dw_page_link(request, "/book/belts", _("Find a belt"));
    dw_html_close(request->html, "div");
    dw_job_section_end(page);
}

void dw_job_page_set_up(DwJobPage *page)
{
    DwRecords left = {0};
    dw_job_section_begin(page, DW_STATION_SET_UP);
    dw_set_up_standing(page->request->book, page->job.record.id, DW_PHASE_AS_LEFT, &left, NULL);
    dw_record_form_list(page->request, &left, "unit|instrument|method|at", 0, page->path);
    dw_records_clear(&left);
    write_link(page, "setup", _("Set up, step by step"));
    dw_job_section_end(page);
}

void dw_job_page_papers(DwJobPage *page)
{
    DwWebRequest *request = page->request;
    dw_job_section_begin(page, DW_STATION_PAPERS);
    dw_record_form_change(request, &page->job.record, "not_done|advice|next_due_on");
    if (page->deck.record.id)
        dw_record_form_change(request, &page->deck.record, "lesson");
    dw_html_open(request->html, "div", "class", "acts", NULL);
    write_link(page, "papers", _("Papers of this job"));
    write_link(page, "sign", _("Signatures"));
    dw_html_close(request->html, "div");
    dw_job_section_end(page);
}

static void write_moves(DwJobPage *page)
{
    DwWebRequest *request = page->request;
    DwJobState next[6];
    size_t count = dw_work_line_next((DwJobState)page->job.state, next, 6);
    dw_job_section_form(page, "move");
    dw_html_open(request->html, "div", "class", "fields", NULL);
    dw_form_text(request, "waiting_for", _("It then waits for"), "", "text",
                 _("Which part, whose answer. May stay empty."));
    dw_form_text(request, "note", _("Note"), "", "text", NULL);
    dw_html_close(request->html, "div");
    dw_html_open(request->html, "div", "class", "acts", NULL);
    for (size_t i = 0; i < count; i++)
        dw_html_element(request->html, "button", dw_words(dw_job_state_word(next[i])), "type", "submit", "name",
                        "state", "value", dw_job_state_word(next[i]), "class", i ? "second" : DW_HTML_NONE, NULL);
    dw_html_close(request->html, "div");
    dw_form_end(request);
}

static void write_any_move(DwJobPage *page)
{
    const DwField *states = dw_field_find(&dw_job_entity, "state");
    const char *shown[DW_JOB_DECLINED + 1];
    const char *values[DW_JOB_DECLINED + 1];
    for (int i = 0; i <= DW_JOB_DECLINED; i++) {
        values[i] = dw_job_state_word((DwJobState)i);
        shown[i] = dw_words(values[i]);
    }
    dw_html_open(page->request->html, "details", "class", "add", NULL);
    dw_html_element(page->request->html, "summary", _("Another state"), NULL);
    dw_job_section_form(page, "move");
    dw_form_choice(page->request, "state", dw_words(states->label), shown, values, DW_JOB_DECLINED + 1,
                   values[page->job.state], NULL);
    dw_form_text(page->request, "waiting_for", _("It then waits for"), page->job.waiting_for, "text", NULL);
    dw_form_text(page->request, "note", _("Note"), "", "text", NULL);
    dw_form_button(page->request, _("Move it"));
    dw_form_end(page->request);
    dw_html_close(page->request->html, "details");
}

void dw_job_page_state(DwJobPage *page)
{
    DwWebRequest *request = page->request;
    DwHtml *html = request->html;
    int64_t job = page->job.record.id;
    dw_html_open(html, "section", "id", "state", "aria-labelledby", "state-title", NULL);
    dw_html_element(html, "h2", _("Where it goes next"), "id", "state-title", NULL);
    write_moves(page);
    write_any_move(page);
    dw_html_element(html, "h3", _("What the owner was told"), "id", "told", NULL);
    dw_job_section_list(page, &dw_contact_entity, "job_id", job, "how|who", false);
    dw_record_form_fold(request, &dw_contact_entity, "job_id", job, NULL, _("Told the owner"));
    dw_html_element(html, "h3", _("How it went so far"), NULL);
    dw_job_section_list(page, &dw_stage_entity, "job_id", job, "waiting_for|note|who", false);
    dw_html_open(html, "div", "class", "acts", NULL);
    write_link(page, "journal", _("Journal of the job"));
    dw_html_close(html, "div");
    dw_html_close(html, "section");
}
