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

static void write_link(DwJobView *view, const char *rest, const char *words)
{
    char *path = dw_text_format("%s/%s", view->path, rest);
    dw_page_link(view->page, path, words);
    free(path);
}

// A fold of them that says how many of each kind there are.
static void write_verdicts(DwJobView *view)
{
    DwRecords verdicts = {0};
    dw_verdict_standing(view->request->book, view->job.record.id, &verdicts, NULL);
    DwText holds = {0};
    for (size_t i = 0; i < verdicts.count; i++) {
        const DwItemVerdict *verdict = (const DwItemVerdict *)dw_records_at(&verdicts, i);
        dw_text_add(&holds, "%s%s", i ? ", " : "", verdict->item);
    }
    if (verdicts.count) {
        dw_job_section_fold(view, NULL, _("Verdicts"), holds.chars, dw_job_section_opens(view, &dw_verdict_entity));
        dw_record_form_list(view->page, &verdicts, "grade|aspect|phase|evidence|action",
                            dw_record_form_opened(view->request, &dw_verdict_entity), view->path);
        dw_job_section_unfold(view);
    }
    dw_text_clear(&holds);
    dw_records_clear(&verdicts);
}

void dw_job_page_findings(DwJobView *view)
{
    int64_t job = view->job.record.id;
    dw_job_section_begin(view, DW_STATION_FINDINGS);
    dw_html_open(view->page->html, "div", "class", "acts", NULL);
    write_link(view, "guide", _("What is wrong with it?"));
    dw_html_close(view->page->html, "div");
    dw_job_section_list(view, &dw_finding_entity, "job_id", job, "confirmed|cause|confidence|test|action|after", false);
    dw_record_form_fold(view->page, &dw_finding_entity, "job_id", job, NULL, _("Add a finding"));
    write_verdicts(view);
    dw_record_form_fold(view->page, &dw_verdict_entity, "job_id", job, "item|grade|aspect|phase|evidence|action",
                        _("Give a verdict"));
    dw_job_section_end(view);
}

// A list of ENTITY under a fold that says how many there are, with a form for another.
static void write_folded_list(DwJobView *view, const DwEntity *entity, const char *words, const char *columns,
                              const char *another)
{
    DwRecords records = {0};
    dw_record_list(view->request->book, entity, "job_id", view->job.record.id, &records, NULL);
    char *holds = records.count ? dw_text_format("%zu", records.count) : dw_text_format("%s", _("none noted"));
    dw_job_section_fold(view, NULL, words, holds, dw_job_section_opens(view, entity));
    dw_record_form_list(view->page, &records, columns, dw_record_form_opened(view->request, entity), view->path);
    dw_record_form_fold(view->page, entity, "job_id", view->job.record.id, NULL, another);
    dw_job_section_unfold(view);
    dw_records_clear(&records);
    free(holds);
}

void dw_job_page_work(DwJobView *view)
{
    int64_t job = view->job.record.id;
    dw_job_section_begin(view, DW_STATION_WORK);
    dw_job_page_plan(view);
    dw_record_form_fold(view->page, &dw_operation_entity, "job_id", job, NULL, _("Add an operation"));
    write_folded_list(view, &dw_lubrication_entity, _("Lubrication by point"), "quantity_ml|drops|note",
                      _("Add a point"));
    write_folded_list(view, &dw_part_entity, _("Parts"), "quantity|condition|stock_id|price|batch|old_part",
                      _("Fit a part"));
    dw_html_open(view->page->html, "div", "class", "acts", NULL);
    write_link(view, "photos", _("Photographs"));
    write_link(view, "ears", _("Hear it"));
    dw_page_link(view->page, "/book/belts", _("Find a belt"));
    dw_html_close(view->page->html, "div");
    dw_job_section_end(view);
}

void dw_job_page_set_up(DwJobView *view)
{
    DwRecords left = {0};
    dw_job_section_begin(view, DW_STATION_SET_UP);
    dw_set_up_standing(view->request->book, view->job.record.id, DW_PHASE_AS_LEFT, &left, NULL);
    dw_record_form_list(view->page, &left, "unit|instrument|method|at", 0, view->path);
    dw_records_clear(&left);
    write_link(view, "setup", _("Set up, step by step"));
    dw_job_section_end(view);
}

void dw_job_page_papers(DwJobView *view)
{
    dw_job_section_begin(view, DW_STATION_PAPERS);
    dw_html_open(view->page->html, "div", "class", "acts", NULL);
    write_link(view, "papers", _("Papers of this job"));
    write_link(view, "sign", _("Signatures"));
    dw_html_close(view->page->html, "div");
    dw_job_page_invoices(view);
    dw_job_section_fold(view, NULL, _("What the owner reads beside the numbers"), "", false);
    dw_record_form_change(view->page, &view->job.record, "not_done|advice|next_due_on");
    dw_job_section_unfold(view);
    if (view->deck.record.id) {
        dw_job_section_fold(view, NULL, _("For whoever has it next"), "", false);
        dw_record_form_change(view->page, &view->deck.record, "lesson");
        dw_job_section_unfold(view);
    }
    dw_job_section_end(view);
}

static void write_moves(DwJobView *view)
{
    DwJobState next[6];
    size_t count = dw_work_line_next((DwJobState)view->job.state, next, 6);
    dw_job_section_form(view, "move");
    dw_html_open(view->page->html, "div", "class", "fields", NULL);
    dw_form_text(view->page, "waiting_for", _("It then waits for"), "", "text",
                 _("Which part, whose answer. May stay empty."));
    dw_form_text(view->page, "note", _("Note"), "", "text", NULL);
    dw_html_close(view->page->html, "div");
    dw_html_open(view->page->html, "div", "class", "acts", NULL);
    for (size_t i = 0; i < count; i++)
        dw_html_element(view->page->html, "button", dw_words(dw_job_state_word(next[i])), "type", "submit", "name",
                        "state", "value", dw_job_state_word(next[i]), "class", i ? "second" : DW_HTML_NONE, NULL);
    dw_html_close(view->page->html, "div");
    dw_form_end(view->page);
}

static void write_any_move(DwJobView *view)
{
    const DwField *states = dw_field_find(&dw_job_entity, "state");
    const char *shown[DW_JOB_DECLINED + 1];
    const char *values[DW_JOB_DECLINED + 1];
    for (int i = 0; i <= DW_JOB_DECLINED; i++) {
        values[i] = dw_job_state_word((DwJobState)i);
        shown[i] = dw_words(values[i]);
    }
    dw_html_open(view->page->html, "details", "class", "add", NULL);
    dw_html_element(view->page->html, "summary", _("Another state"), NULL);
    dw_job_section_form(view, "move");
    dw_form_choice(view->page, "state", dw_words(states->label), shown, values, DW_JOB_DECLINED + 1,
                   values[view->job.state], NULL);
    dw_form_text(view->page, "waiting_for", _("It then waits for"), view->job.waiting_for, "text", NULL);
    dw_form_text(view->page, "note", _("Note"), "", "text", NULL);
    dw_form_button(view->page, _("Move it"));
    dw_form_end(view->page);
    dw_html_close(view->page->html, "details");
}

void dw_job_page_state(DwJobView *view)
{
    DwHtml *html = view->page->html;
    int64_t job = view->job.record.id;
    dw_job_section_begin(view, DW_JOB_PART_STATE);
    write_moves(view);
    write_any_move(view);
    dw_html_element(html, "h3", _("What the owner was told"), "id", "told", NULL);
    dw_job_section_list(view, &dw_contact_entity, "job_id", job, "how|who", false);
    dw_record_form_fold(view->page, &dw_contact_entity, "job_id", job, NULL, _("Told the owner"));
    dw_job_section_fold(view, NULL, _("How it went so far"), "", dw_job_section_opens(view, &dw_stage_entity));
    dw_job_section_list(view, &dw_stage_entity, "job_id", job, "waiting_for|note|who", false);
    dw_job_section_unfold(view);
    dw_html_open(html, "div", "class", "acts", NULL);
    write_link(view, "journal", _("Journal of the job"));
    dw_html_close(html, "div");
    dw_job_section_end(view);
}
