// SPDX-License-Identifier: MIT
// The job's page: the plan of its work, ticked off at the bench.
#include "base/text.h"
#include "book/job/work.h"
#include "book/money/consent.h"
#include "procedure/job/job_guide.h"
#include "web/job/job_head.h"
#include "web/job/job_page.h"
#include "web/job/pages.h"
#include "web/page/kept.h"
#include "web/record/record_form.h"
#include "web/server/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// A button that does ACT with OPERATION.
static void write_act(DwJobView *view, const DwOperation *operation, const char *act, const char *words)
{
    char id[24];
    snprintf(id, sizeof id, "%lld", (long long)operation->record.id);
    dw_job_section_form(view, act);
    dw_html_void(view->page->html, "input", "type", "hidden", "name", "operation", "value", id, NULL);
    dw_html_element(view->page->html, "button", words, "type", "submit", "class", "second", NULL);
    dw_form_end(view->page);
}

static void write_leaving_out(DwJobView *view, const DwOperation *operation)
{
    char id[24];
    snprintf(id, sizeof id, "%lld", (long long)operation->record.id);
    dw_html_open(view->page->html, "details", "class", "add", NULL);
    dw_html_element(view->page->html, "summary", _("Not done, because …"), NULL);
    dw_job_section_form(view, "leave-out");
    dw_html_void(view->page->html, "input", "type", "hidden", "name", "operation", "value", id, NULL);
    dw_form_text(view->page, "left_out", _("Not done, because"), operation->left_out, "text",
                 _("The report says it to the owner."));
    dw_form_button(view->page, _("Keep"));
    dw_form_end(view->page);
    dw_html_close(view->page->html, "details");
}

static void write_care(DwJobView *view, const DwOperation *operation)
{
    for (const char *at = operation->care ? operation->care : ""; *at;) {
        size_t length = strcspn(at, "\n");
        char *line = dw_text_format("%.*s", (int)length, at);
        dw_html_element(view->page->html, "p", line, "class", "quiet", NULL);
        free(line);
        at += length + (at[length] == '\n');
    }
}

// A button without the operation's name, which a screen reader says with it.
static void write_short_act(DwJobView *view, const DwOperation *operation, const char *act, const char *words)
{
    char id[24];
    char *whole = dw_text_format("%s: %s", words, operation->name);
    snprintf(id, sizeof id, "%lld", (long long)operation->record.id);
    dw_job_section_form(view, act);
    dw_html_void(view->page->html, "input", "type", "hidden", "name", "operation", "value", id, NULL);
    dw_html_element(view->page->html, "button", words, "type", "submit", "class", "second", "aria-label", whole, NULL);
    dw_form_end(view->page);
    free(whole);
}

static void write_step(DwJobView *view, DwOperation *operation)
{
    DwHtml *html = view->page->html;
    bool done = dw_operation_is_done(operation);
    DwRecords self = {&dw_operation_entity, operation, 1};
    dw_html_open(html, "li", NULL);
    dw_record_form_list(view->page, &self, "quoted_minutes|actual_minutes|done_at|who|note|left_out",
                        dw_record_form_opened(view->request, &dw_operation_entity), view->path);
    if (!done)
        write_care(view, operation);
    dw_html_open(html, "div", "class", "acts", NULL);
    if (done)
        write_short_act(view, operation, "undone", _("☑ Done. Take the tick away"));
    else
        write_short_act(view, operation, "done", _("☐ Done now"));
    dw_html_close(html, "div");
    if (!done)
        write_leaving_out(view, operation);
    dw_html_close(html, "li");
}

// What was added by hand; where it is not done yet, with a button for it: the hour is the clock's.
static void write_others(DwJobView *view)
{
    DwRecords operations = {0};
    dw_record_list(view->request->book, &dw_operation_entity, "job_id", view->job.record.id, &operations, NULL);
    for (size_t i = 0; i < operations.count; i++) {
        DwOperation *operation = (DwOperation *)dw_records_at(&operations, i);
        DwRecords self = {&dw_operation_entity, operation, 1};
        if (operation->place)
            continue;
        dw_record_form_list(view->page, &self, "quoted_minutes|actual_minutes|done_at|who|note",
                            dw_record_form_opened(view->request, &dw_operation_entity), view->path);
        if (dw_operation_is_done(operation))
            continue;
        char *words = dw_text_format(_("Done now: %s"), operation->name);
        write_act(view, operation, "done", words);
        free(words);
    }
    dw_records_clear(&operations);
}

static void write_offer(DwJobView *view, bool any)
{
    int64_t estimate = 0;
    DwTier tier = DW_TIER_MINIMUM;
    dw_consent_option(view->request->book, view->job.record.id, &estimate, &tier, NULL);
    const char *first = estimate ? _("Put the agreed work on the bench") : _("Put what the guide plans on the bench");
    dw_job_section_form(view, "plan");
    dw_html_element(view->page->html, "button", any ? _("Put on the bench what came since") : first, "type", "submit",
                    "class", "second", NULL);
    dw_form_end(view->page);
}

void dw_job_page_plan(DwJobView *view)
{
    DwRecords steps = {0};
    DwHtml *html = view->page->html;
    if (dw_operation_plan(view->request->book, view->job.record.id, &steps, NULL) != DW_OK)
        return;
    size_t done = 0;
    for (size_t i = 0; i < steps.count; i++)
        done += dw_operation_is_done((const DwOperation *)dw_records_at(&steps, i));
    if (steps.count) {
        dw_html_open(html, "h3", "id", "plan", NULL);
        dw_html_format(html, _("The plan: %zu of %zu done"), done, steps.count);
        dw_html_close(html, "h3");
        dw_html_open(html, "ol", "class", "steps", NULL);
        for (size_t i = 0; i < steps.count; i++)
            write_step(view, (DwOperation *)dw_records_at(&steps, i));
        dw_html_close(html, "ol");
    }
    write_others(view);
    write_offer(view, steps.count > 0);
    dw_records_clear(&steps);
}

// --- what its forms do ----------------------------------------------------------

static DwStatus load_operation(const DwWebRequest *request, const DwJob *job, DwOperation *operation,
                               DwMessage *message)
{
    DwStatus status = dw_record_load(request->book, &operation->record,
                                     strtoll(dw_request_field(request, "operation"), NULL, 10), message);
    return status == DW_OK && operation->job_id != job->record.id
               ? dw_fail(message, DW_BAD_INPUT, "That operation belongs to another job.")
               : status;
}

// Sets the operation that the form names by ACT and keeps it, with its way back.
static DwAnswer with_operation(const DwWebRequest *request,
                               DwStatus (*act)(const DwWebRequest *, DwOperation *, DwMessage *))
{
    DwAnswer answer;
    DwJob job;
    DwOperation operation;
    DwMessage message;
    dw_record_init(&operation.record, &dw_operation_entity);
    if (dw_job_head_find(request, &job, &answer)) {
        DwStatus status = load_operation(request, &job, &operation, &message);
        if (status == DW_OK)
            status = act(request, &operation, &message);
        char *path = dw_text_format("/job/%04lld?at=work", (long long)job.number);
        answer = status == DW_OK ? dw_kept_change(request, &operation.record, path, "work")
                                 : dw_answer_trouble(status, &message);
        free(path);
    }
    dw_record_clear(&job.record);
    dw_record_clear(&operation.record);
    return answer;
}

static DwStatus tick(const DwWebRequest *request, DwOperation *operation, DwMessage *message)
{
    (void)message;
    dw_operation_tick(request->book, operation, 0);
    return DW_OK;
}

static DwStatus untick(const DwWebRequest *request, DwOperation *operation, DwMessage *message)
{
    (void)request;
    (void)message;
    dw_operation_untick(operation);
    return DW_OK;
}

static DwStatus leave_out(const DwWebRequest *request, DwOperation *operation, DwMessage *message)
{
    return dw_operation_leave_out(operation, dw_request_field(request, "left_out"), message);
}

static DwAnswer post_done(const DwWebRequest *request)
{
    return with_operation(request, tick);
}

static DwAnswer post_undone(const DwWebRequest *request)
{
    return with_operation(request, untick);
}

static DwAnswer post_leave_out(const DwWebRequest *request)
{
    return with_operation(request, leave_out);
}

static DwAnswer post_plan(const DwWebRequest *request)
{
    DwAnswer answer;
    DwJob job;
    DwMessage message;
    size_t added;
    if (dw_job_head_find(request, &job, &answer)) {
        char *path = dw_text_format("/job/%04lld?at=work", (long long)job.number);
        DwStatus status = dw_job_guide_plan(request->book, &job, &added, &message);
        answer =
            status == DW_OK
                ? dw_kept_answer(
                      request, &(DwKept){.what = added ? DW_KEPT_ADDED : DW_KEPT_SAME, .path = path, .anchor = "work"})
                : dw_answer_trouble(status, &message);
        free(path);
    }
    dw_record_clear(&job.record);
    return answer;
}

const DwWebRoute dw_routes_job_plan[] = {
    {"POST", "/job/:number/plan", post_plan, false},
    {"POST", "/job/:number/done", post_done, false},
    {"POST", "/job/:number/undone", post_undone, false},
    {"POST", "/job/:number/leave-out", post_leave_out, false},
    {0},
};
