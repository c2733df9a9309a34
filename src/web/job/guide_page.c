// SPDX-License-Identifier: MIT
// The guide as a page: one question at a time with large answers, the odds as they move, and the work that follows.
#include "base/memory.h"
#include "base/text.h"
#include "guide/guide_words.h"
#include "guide/guide_sheet.h"
#include "procedure/job/job_guide.h"
#include "web/job/guide_visit.h"
#include "web/job/job_line.h"
#include "web/job/pages.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <stdlib.h>
#include <string.h>

// --- an answer to give --------------------------------------------------------

// One large button that gives VALUE to KEY.
static void write_answer(DwPage *page, const DwGuideVisit *visit, const char *key, const char *value, const char *words,
                         const char *test)
{
    DwHtml *html = page->html;
    bool of_job = visit->job.record.id;
    char *said = dw_guide_visit_said(visit), *whole = dw_text_format("%s%s=%s", said, key, value);
    if (of_job)
        dw_form_begin(page, visit->path, false);
    else
        dw_html_open(html, "form", "method", "get", "action", visit->path, NULL);
    if (of_job) {
        dw_html_void(html, "input", "type", "hidden", "name", "key", "value", key, NULL);
        dw_html_void(html, "input", "type", "hidden", "name", "answer", "value", value, NULL);
        dw_html_void(html, "input", "type", "hidden", "name", "test", "value", test, NULL);
    } else
        dw_html_void(html, "input", "type", "hidden", "name", "said", "value", whole, NULL);
    dw_html_element(html, "button", words, "type", "submit", "class", "answer", NULL);
    if (of_job)
        dw_form_end(page);
    else
        dw_html_close(html, "form");
    free(said);
    free(whole);
}

static void write_drive(DwPage *page, const DwGuideVisit *visit)
{
    static const char *const values[] = {"belt", "idler", "direct", "unknown"};
    const char *words[] = {_("By a belt"), _("By an idler wheel"), _("Directly"), _("Cannot tell")};
    dw_html_element(page->html, "h2", _("What drives the platter?"), "class", "ask", NULL);
    dw_html_open(page->html, "div", "class", "answers", NULL);
    for (size_t i = 0; i < sizeof values / sizeof *values; i++)
        write_answer(page, visit, "drive.kind", values[i], words[i], "");
    dw_html_close(page->html, "div");
}

// Yes, no, cannot tell. What was answered before stands in front of a second look's answer.
static void write_yes_no(DwPage *page, const DwGuideVisit *visit, const DwGuideStep *step, size_t sign)
{
    static const char *const values[] = {"yes", "no", "unknown"};
    const char *words[] = {_("Yes"), _("No"), _("Cannot tell")};
    const DwGuideSign *row = &visit->knowledge->signs[sign];
    char *key = dw_guide_sign_name(row);
    const char *before = dw_guide_answer_word(visit->guide_case.evidence[sign].answer);
    dw_html_element(page->html, "h2", dw_words(row->ask), "class", "ask", NULL);
    if (step->again)
        dw_page_remark(page, strcmp(before, "yes") == 0 ? _("It was answered with yes. Look again.")
                                                        : _("It was answered with no. Look again."));
    dw_html_open(page->html, "div", "class", "answers", NULL);
    for (size_t i = 0; i < sizeof values / sizeof *values; i++) {
        bool asked = row->symptom && i == 0;
        char *value =
            step->again ? dw_text_format("%s,%s", before, values[i]) : dw_memory_text(asked ? "asked" : values[i]);
        write_answer(page, visit, key, value, words[i], step->test < 0 ? "" : visit->knowledge->tests[step->test].key);
        free(value);
    }
    dw_html_close(page->html, "div");
    free(key);
}

// --- the step -----------------------------------------------------------------

static void write_procedure(DwPage *page, const DwGuideVisit *visit, const DwGuideTest *test)
{
    if (!test->procedure)
        return;
    char *path = dw_text_format("/measure/%s?job=%04lld&as=during", test->procedure, (long long)visit->job.number);
    dw_page_link(page, path, _("Measure it"));
    free(path);
}

static void write_test(DwPage *page, const DwGuideVisit *visit, const DwGuideStep *step)
{
    DwHtml *html = page->html;
    const DwGuideTest *test = &visit->knowledge->tests[step->test];
    dw_html_open(html, "p", "class", "lead", NULL);
    dw_html_format(html, _("%s, %g minutes"), dw_words(test->name), test->minutes);
    dw_html_close(html, "p");
    dw_html_open(html, "p", NULL);
    for (size_t i = 0; i < test->does.count; i++)
        dw_html_format(html, "%s%s", i ? " " : "", dw_words(test->does.texts[i]));
    dw_html_close(html, "p");
    dw_html_open(html, "p", "class", "quiet", NULL);
    dw_html_format(html, _("Tools: %s"), test->tools);
    dw_html_close(html, "p");
    if (test->caution)
        dw_page_caution(page, dw_words(test->caution));
    write_procedure(page, visit, test);
}

// The steps that may be taken instead, as links.
static void write_others(DwPage *page, const DwGuideVisit *visit, const DwGuideStep *taken)
{
    DwHtml *html = page->html;
    size_t count = 0;
    for (size_t i = 0; visit->job.record.id && i < visit->reasons.step_count && count < 4; i++) {
        const DwGuideStep *step = &visit->reasons.steps[i];
        if (step == taken || step->test < 0 || taken->safety)
            continue;
        if (!count++) {
            dw_html_open(html, "details", "class", "add", NULL);
            dw_html_element(html, "summary", _("Try something else first"), NULL);
            dw_html_open(html, "div", "class", "acts", NULL);
        }
        const DwGuideTest *test = &visit->knowledge->tests[step->test];
        char *path = dw_text_format("%s?test=%s", visit->path, test->key);
        char *words = dw_text_format(_("%s, %g minutes"), dw_words(test->name), test->minutes);
        dw_html_element(html, "a", words, "class", "button second", "href", path, NULL);
        free(words);
        free(path);
    }
    if (count) {
        dw_html_close(html, "div");
        dw_html_close(html, "details");
    }
}

static void write_step(DwPage *page, const DwGuideVisit *visit, const DwGuideStep *step)
{
    int sign = dw_guide_visit_sign(visit, step);
    dw_html_open(page->html, "section", "class", "step", NULL);
    if (!visit->job.record.id) {
        dw_html_open(page->html, "p", "class", "quiet", NULL);
        dw_html_format(page->html, _("Question %u of %d"), visit->asked + 1, DW_GUIDE_CALL_QUESTIONS);
        dw_html_close(page->html, "p");
    }
    if (step->test >= 0)
        write_test(page, visit, step);
    if (step->drive)
        write_drive(page, visit);
    else if (sign >= 0)
        write_yes_no(page, visit, step, (size_t)sign);
    write_others(page, visit, step);
    dw_html_close(page->html, "section");
}

// --- the beginning ------------------------------------------------------------

// Every complaint there is, to choose from.
static void write_complaints(DwPage *page, const DwGuideVisit *visit)
{
    DwHtml *html = page->html;
    dw_html_open(html, "details", "class", "add", NULL);
    dw_html_element(html, "summary", _("Choose a complaint from the list"), NULL);
    dw_html_open(html, "div", "class", "complaints", NULL);
    for (size_t i = 0; i < visit->knowledge->symptom_count; i++) {
        char *key = dw_guide_sign_name(&visit->knowledge->signs[i]);
        write_answer(page, visit, key, "yes", dw_words(visit->knowledge->signs[i].ask), "");
        free(key);
    }
    dw_html_close(html, "div");
    dw_html_close(html, "details");
}

static void write_beginning(DwPage *page, const DwGuideVisit *visit)
{
    DwHtml *html = page->html;
    bool of_job = visit->job.record.id;
    if (of_job)
        dw_form_begin(page, visit->path, false);
    else
        dw_html_open(html, "form", "method", "get", "action", visit->path, NULL);
    dw_form_area(page, "words", _("What is wrong with it, in the owner's words?"),
                 of_job && visit->job.fault ? visit->job.fault : "", _("As in: sounds slow; hums; skips."));
    dw_form_button(page, _("Begin"));
    if (of_job)
        dw_form_end(page);
    else
        dw_html_close(html, "form");
    write_complaints(page, visit);
}

// --- the page -----------------------------------------------------------------

static void write_take_back(DwPage *page, const DwGuideVisit *visit)
{
    DwGuideLast last = dw_guide_case_last(&visit->guide_case);
    if (!last.any || !visit->job.record.id) // on the telephone the browser goes back
        return;
    const DwGuideSign *sign = &visit->knowledge->signs[last.sign];
    char *key = last.drive ? dw_memory_text("drive.kind") : dw_guide_sign_name(sign);
    char *words = dw_text_format(_("Take back: %s"), last.drive ? _("What drives the platter?") : dw_words(sign->ask));
    const char *before =
        last.drive ? dw_guide_answer_word(DW_GUIDE_OPEN) : dw_guide_case_word_before(&visit->guide_case, last.sign);
    dw_form_begin(page, visit->path, false);
    dw_html_void(page->html, "input", "type", "hidden", "name", "key", "value", key, NULL);
    dw_html_void(page->html, "input", "type", "hidden", "name", "answer", "value", before, NULL);
    dw_html_element(page->html, "button", words, "type", "submit", "class", "second", NULL);
    dw_form_end(page);
    free(words);
    free(key);
}

static void write_standing(DwPage *page, const DwGuideVisit *visit)
{
    char *words = dw_guide_standing_words(&visit->guide_case, &visit->reasons);
    dw_html_element(page->html, "p", words, "class", "lead", "aria-live", "polite", NULL);
    free(words);
}

static DwAnswer show_guide(const DwWebRequest *request)
{
    DwAnswer answer;
    DwGuideVisit visit;
    if (!dw_guide_visit_open(request, &visit, &answer)) {
        dw_guide_visit_close(&visit);
        return answer;
    }
    DwPage *page = dw_page_begin(
        request, &(DwPageHead){.title = _("What is wrong with it?"), .style = "job.css", .room = DW_ROOM_BOARD});
    bool begun = visit.reasons.standing != DW_GUIDE_NOTHING_SAID;
    const DwGuideStep *step = begun ? dw_guide_visit_step(&visit) : NULL;
    dw_html_element(page->html, "h1", _("What is wrong with it?"), NULL);
    if (visit.job.record.id)
        dw_job_line_write(page, &visit.job, "");
    dw_guide_view_cautions(page, &visit);
    if (!begun)
        write_beginning(page, &visit);
    if (step)
        write_step(page, &visit, step);
    if (begun) {
        write_standing(page, &visit);
        dw_guide_view_causes(page, &visit);
        write_take_back(page, &visit);
        if (visit.job.record.id)
            dw_guide_view_work(page, &visit);
        else
            dw_guide_view_call(page, &visit);
        dw_guide_view_path(page, &visit);
    }
    answer = dw_page_end(page);
    dw_guide_visit_close(&visit);
    return answer;
}

// --- what is posted -----------------------------------------------------------

static DwStatus take_post(DwGuideVisit *visit, DwMessage *message)
{
    const DwWebRequest *request = visit->request;
    const char *words = dw_request_field(request, "words"), *key = dw_request_field(request, "key");
    DwStatus status = *key ? DW_OK : dw_guide_case_say(&visit->guide_case, words, message);
    if (*key) {
        char *operand = dw_text_format("%s=%s", key, dw_request_field(request, "answer"));
        status = dw_guide_case_set(&visit->guide_case, operand, message);
        free(operand);
    }
    return status == DW_OK ? dw_guide_visit_keep(visit, message) : status;
}

// Does ACT with the job's case as one change of the book, so that of two devices neither goes by what the other is
// about to change. NEXT is the page to go on to where ACT was kept; it is freed.
static DwAnswer act_as_one(const DwWebRequest *request, DwStatus (*act)(DwGuideVisit *, DwMessage *),
                           char *(*next)(const DwGuideVisit *))
{
    DwAnswer answer;
    DwGuideVisit visit;
    DwMessage message;
    DwStatus status = dw_book_begin(request->book, &message);
    if (status != DW_OK)
        return dw_answer_trouble(status, &message);
    bool is_open = dw_guide_visit_open(request, &visit, &answer);
    status = is_open ? act(&visit, &message) : DW_BAD_INPUT;
    status = dw_book_end(request->book, status, &message);
    if (is_open && status == DW_OK) {
        char *page = next(&visit);
        answer = dw_answer_go("%s", page);
        free(page);
    } else if (is_open)
        answer = dw_answer_refusal_at(visit.path, status == DW_BAD_INPUT ? 400 : 500, dw_message_said(&message));
    dw_guide_visit_close(&visit);
    return answer;
}

static char *same_page(const DwGuideVisit *visit)
{
    const char *test = dw_request_field(visit->request, "test");
    bool goes_on = dw_guide_test_find(visit->knowledge, test) >= 0;
    return dw_text_format("%s%s%s", visit->path, goes_on ? "?test=" : "", goes_on ? test : "");
}

static DwAnswer post_guide(const DwWebRequest *request)
{
    return act_as_one(request, take_post, same_page);
}

static DwStatus confirm(DwGuideVisit *visit, DwMessage *message)
{
    bool added;
    return dw_job_guide_confirm(visit->request->book, &visit->job, &visit->guide_case,
                                dw_request_field(visit->request, "fault"), &added, message);
}

static char *findings_page(const DwGuideVisit *visit)
{
    return dw_text_format("/job/%04lld?at=findings#findings", (long long)visit->job.number);
}

static DwAnswer post_confirm(const DwWebRequest *request)
{
    return act_as_one(request, confirm, findings_page);
}

static DwStatus put_into_estimate(DwGuideVisit *visit, DwMessage *message)
{
    int64_t version;
    size_t added;
    return dw_job_guide_estimate(visit->request->book, &visit->job, visit->knowledge, &visit->works, &version, &added,
                                 message);
}

static char *estimate_page(const DwGuideVisit *visit)
{
    return dw_text_format("/job/%04lld?at=estimate#estimate", (long long)visit->job.number);
}

static DwAnswer post_estimate(const DwWebRequest *request)
{
    return act_as_one(request, put_into_estimate, estimate_page);
}

const DwWebRoute dw_routes_guide[] = {
    {"GET", "/guide", show_guide, false},
    {"GET", "/job/:number/guide", show_guide, false},
    {"POST", "/job/:number/guide", post_guide, false},
    {"POST", "/job/:number/guide/confirm", post_confirm, false},
    {"POST", "/job/:number/guide/estimate", post_estimate, false},
    {0},
};
