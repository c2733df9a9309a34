// SPDX-License-Identifier: MIT
// What can be measured, and the form of each procedure.
#include "base/memory.h"
#include "base/text.h"
#include "chart/draw/number.h"
#include "procedure/job/job_sheet.h"
#include "web/job/job_line.h"
#include "web/measure/form_picture.h"
#include "web/measure/measure_form.h"
#include "web/measure/measure_recordings.h"
#include "web/measure/pages.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// The job and phase of the address, to be carried on; the caller frees it.
static char *carried(const DwWebRequest *request)
{
    int64_t job = dw_request_id(request, "job");
    const char *as = dw_request_query(request, "as");
    if (!job)
        return dw_memory_text("");
    bool phase = *dw_job_line_phase(as) != 0;
    return dw_text_format("?job=%04lld%s%s", (long long)job, phase ? "&as=" : "", phase ? as : "");
}

static void write_card(DwPage *page, const DwProcedure *procedure, const char *question, const char *query)
{
    DwHtml *html = page->html;
    char *path = dw_text_format("/measure/%s%s", procedure->name, query);
    dw_html_open(html, "li", NULL);
    dw_html_open(html, "a", "class", "card", "href", path, NULL);
    dw_html_element(html, "strong", question, NULL);
    dw_html_open(html, "span", "class", "quiet", NULL);
    dw_html_text(html, dw_words(procedure->title));
    if (procedure->recordings_least)
        dw_html_text(html, procedure->takes == DW_TAKES_FILM     ? _(" · from a film")
                           : procedure->takes == DW_TAKES_PHOTOS ? _(" · from photographs")
                           : procedure->recordings_least == 1    ? _(" · from a recording")
                                                                 : _(" · from recordings"));
    dw_html_close(html, "span");
    dw_html_close(html, "a");
    dw_html_close(html, "li");
    free(path);
}

static void write_group(DwPage *page, const DwQuestionGroup *group, const char *query)
{
    DwHtml *html = page->html;
    dw_html_element(html, "h2", dw_words(group->heading), NULL);
    dw_html_open(html, "ul", "class", "cards questions", NULL);
    for (size_t i = 0; i < group->count; i++) {
        const DwQuestion *question = &group->questions[i];
        write_card(page, dw_procedure_find(question->procedure), dw_words(question->words), query);
    }
    dw_html_close(html, "ul");
}

// What no group names yet.
static void write_others(DwPage *page, const char *query)
{
    const DwProcedure *procedure;
    bool begun = false;
    for (size_t i = 0; (procedure = dw_procedure_at(i)); i++) {
        if (dw_question_find(procedure)->procedure)
            continue;
        if (!begun) {
            dw_html_element(page->html, "h2", _("And also"), NULL);
            dw_html_open(page->html, "ul", "class", "cards questions", NULL);
        }
        begun = true;
        write_card(page, procedure, dw_words(procedure->title), query);
    }
    if (begun)
        dw_html_close(page->html, "ul");
}

static void write_list_job(DwPage *page)
{
    DwJob job;
    dw_record_init(&job.record, &dw_job_entity);
    if (dw_request_id(page->request, "job") &&
        dw_job_find(page->request->book, dw_request_query(page->request, "job"), &job, NULL) == DW_OK)
        dw_job_line_write(page, &job, dw_request_query(page->request, "as"));
    dw_record_clear(&job.record);
}

static DwAnswer show_list(const DwWebRequest *request)
{
    char *query = carried(request);
    DwPage *page =
        dw_page_begin(request, &(DwPageHead){.title = _("Measure"), .style = "measure.css", .room = DW_ROOM_MEASURE});
    dw_html_element(page->html, "h1", _("What do you want to know?"), NULL);
    write_list_job(page);
    const DwQuestionGroup *group;
    for (size_t i = 0; (group = dw_question_group_at(i)); i++)
        write_group(page, group, query);
    write_others(page, query);
    DwAnswer answer = dw_page_end(page);
    free(query);
    return answer;
}

static DwAnswer show_form(const DwWebRequest *request, const DwMeasureForm *form)
{
    const DwProcedure *procedure = form->procedure;
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = dw_words(procedure->title),
                                                        .style = "measure.css",
                                                        .first = "send.js",
                                                        .script = "measure.js",
                                                        .room = DW_ROOM_MEASURE,
                                                        .help = procedure->name,
                                                        .status = dw_measure_form_is_wrong(form) ? 400 : 200});
    DwHtml *html = page->html;
    const char *words = form->question->words;
    dw_html_element(html, "h1", dw_words(words ? words : procedure->title), NULL);
    if (form->has_job)
        dw_job_line_write(page, &form->job, form->as);
    dw_arm_choice_write(page, form);
    char *summary = dw_memory_text(dw_words(procedure->summary));
    summary[0] = (char)toupper((unsigned char)summary[0]);
    dw_html_element(html, "p", summary, "class", "quiet", NULL);
    free(summary);
    dw_measure_form_write(page, form);
    return dw_page_end(page);
}

static DwAnswer get_form(const DwWebRequest *request)
{
    DwAnswer answer;
    DwMeasureForm form;
    if (!dw_measure_form_begin(request, &form, &answer))
        return answer;
    answer = show_form(request, &form);
    dw_measure_form_clear(&form);
    return answer;
}

// What was sent for a measurement that failed need not be sent again.
static void note_kept(const DwWebRequest *request, DwMeasureForm *form, const DwMeasureRecordings *recordings)
{
    DwMessage message;
    size_t kept;
    if (dw_measure_recordings_keep(request, form, recordings, true, &kept, &message) != DW_OK || kept == 0)
        return;
    char *before = form->trouble;
    form->trouble = dw_text_format("%s%s%s", before ? before : "", before ? " " : "",
                                   dw_words_count("The recording is kept on the job: choose it there.",
                                                  "The recordings are kept on the job: choose them there.", kept));
    free(before);
}

// Measures. On failure the form says why, and no sheet is made.
static DwStatus run(const DwWebRequest *request, DwMeasureForm *form, const DwMeasureRecordings *recordings,
                    DwSheet **sheet, DwMessage *message)
{
    DwRequest asked = {form->inputs, (const char *const *)recordings->paths, recordings->count};
    size_t kept;
    DwStatus status = dw_procedure_run(form->procedure, &asked, sheet, message);
    if (status != DW_OK) {
        char *words = dw_memory_text(dw_message_said(message));
        dw_measure_recordings_name_in(recordings, &words);
        dw_measure_form_blame(form, words);
        free(words);
        note_kept(request, form, recordings);
        return status;
    }
    dw_measure_recordings_name(recordings, *sheet);
    if (form->has_job)
        status = dw_job_sheet_bound(request->book, &form->job, *sheet, message);
    if (status == DW_OK)
        status = dw_measure_recordings_keep(request, form, recordings, false, &kept, message);
    if (status != DW_OK) {
        dw_sheet_free(*sheet);
        form->trouble = dw_memory_text(dw_message_said(message));
    }
    return status;
}

static DwAnswer post_form(const DwWebRequest *request)
{
    DwAnswer answer;
    DwMeasureForm form;
    DwMeasureRecordings recordings;
    DwSheet *sheet = NULL;
    DwMessage message;
    if (!dw_measure_form_begin(request, &form, &answer))
        return answer;
    bool found = dw_measure_recordings_find(request, &form, &recordings);
    bool read = dw_measure_form_read(request, &form);
    dw_measure_recordings_know(&recordings, form.plan_path, form.plan_name);
    if (found && read && run(request, &form, &recordings, &sheet, &message) == DW_OK)
        answer = dw_measure_form_put_aside(request, &form, sheet);
    else
        answer = show_form(request, &form);
    dw_measure_recordings_clear(&recordings);
    dw_measure_form_clear(&form);
    return answer;
}

// One value as it is typed: what it was understood as, or what is wrong with it.
static DwAnswer post_check(const DwWebRequest *request)
{
    DwAnswer answer;
    const DwProcedure *procedure = dw_procedure_find(dw_request_path(request, "procedure"));
    const DwQuantity *quantity = dw_quantity_find(dw_request_field(request, "key"));
    const char *value = dw_request_field(request, "value");
    if (!procedure || !quantity || !dw_procedure_takes(procedure, quantity->key))
        return dw_answer_refusal(404, _("Nothing of that name is asked for here."));
    char *wrong = dw_measure_form_check(quantity, value);
    double number = 0;
    if (wrong)
        answer = dw_answer_refusal(400, wrong);
    else if (quantity->kind == DW_QUANTITY_NUMBER && dw_quantity_read(quantity, value, &number, NULL, NULL) == DW_OK) {
        char *words = dw_text_format("%s%s%s", dw_number_print(number, quantity->digits, false).text,
                                     dw_number_space(quantity->unit), dw_number_unit(quantity->unit));
        answer = dw_answer_kept(words, "/measure");
        free(words);
    } else
        answer = dw_answer_kept("", "/measure");
    free(wrong);
    return answer;
}

const DwWebRoute dw_routes_measure[] = {
    {"GET", "/measure", show_list, false},
    {"GET", "/measure/:procedure", get_form, false},
    {"GET", "/measure/:procedure/picture", dw_form_picture_send, false},
    {"POST", "/measure/:procedure", post_form, false},
    {"POST", "/measure/:procedure/check", post_check, false},
    {0},
};
