// SPDX-License-Identifier: MIT
// The papers of a job: each opened as PDF in the browser, in either size, and its
// words edited for this one job.
#include "base/memory.h"
#include "base/text.h"
#include "book/job/verdict.h"
#include "book/money/estimate.h"
#include "book/money/invoice.h"
#include "book/shop/settings.h"
#include "procedure/registry/data_table.h"
#include "report/report.h"
#include "web/job/job_head.h"
#include "web/page/page.h"
#include "web/paper/pages.h"
#include "web/server/access.h"
#include "web/server/words.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

typedef struct {
    const char *name; // of report.h
    const char *words;
    const char *entity;  // whose records it needs, or NULL
    const char *missing; // what to say without one
} Paper;

static const Paper papers[] = {
    {"receipt", N_("Intake receipt"), "intake", N_("Nothing was written down at intake yet.")},
    {"estimate", N_("Estimate"), "estimate", N_("There is no estimate yet.")},
    {"service", N_("Service report"), NULL, NULL},
    {"proof", N_("Proof of the service report"), NULL, NULL},
    {"invoice", N_("Invoice"), "invoice", N_("There is no invoice yet.")},
    {"label", N_("Labels"), NULL, NULL},
    {"transport", N_("Transport card"), NULL, NULL},
    {"notice", N_("Notice to the owner"), "notice", N_("A notice is for a deck that waits for its owner.")},
};
enum { PAPERS = sizeof papers / sizeof *papers };

static const Paper *find_paper(const char *name)
{
    for (size_t i = 0; i < PAPERS; i++)
        if (strcmp(papers[i].name, name) == 0)
            return &papers[i];
    return NULL;
}

static bool is_there(const DwWebRequest *request, const Paper *paper, const DwJob *job)
{
    DwRecords records;
    bool waits = strcmp(paper->name, "notice") == 0 && dw_job_waits_for_owner((DwJobState)job->state);
    if (!paper->entity || waits)
        return true;
    bool any = dw_record_list(request->book, dw_entity_find(paper->entity), "job_id", job->record.id, &records, NULL) ==
                   DW_OK &&
               records.count > 0;
    dw_records_clear(&records);
    return any;
}

// Whether a notice of KIND was noted on JOB, whatever has become of its deck.
static bool is_noted(const DwWebRequest *request, const DwJob *job, int kind)
{
    DwRecords records;
    bool noted = false;
    if (dw_record_list(request->book, &dw_notice_entity, "job_id", job->record.id, &records, NULL) != DW_OK)
        return false;
    for (size_t i = 0; i < records.count; i++)
        noted |= ((const DwNotice *)dw_records_at(&records, i))->kind == kind;
    dw_records_clear(&records);
    return noted;
}

static void write_open(DwPage *page, const DwJob *job, const char *paper, const char *notice, const char *size,
                       const char *words, bool first)
{
    char *path = dw_text_format("/job/%04lld/paper/%s?size=%s%s%s", (long long)job->number, paper, size,
                                notice ? "&notice=" : "", notice ? notice : "");
    dw_html_element(page->html, "a", words, "href", path, "class", first ? "button" : "button second", "type",
                    "application/pdf", NULL);
    free(path);
}

// Both sizes, the shop's own first.
static void write_sizes(DwPage *page, const DwJob *job, const char *paper, const char *notice, const char *words)
{
    char *setting = dw_settings_text(page->request->book, "paper.size");
    bool letter = strcasecmp(setting, "letter") == 0;
    char *a4 = dw_text_format("%s, A4", words), *us = dw_text_format("%s, Letter", words);
    write_open(page, job, paper, notice, letter ? "letter" : "a4", letter ? us : a4, true);
    write_open(page, job, paper, notice, letter ? "a4" : "letter", letter ? a4 : us, false);
    free(setting);
    free(a4);
    free(us);
}

static void write_notices(DwPage *page, const DwJob *job)
{
    const DwField *field = dw_field_find(&dw_notice_entity, "kind");
    for (int kind = 0; kind < DW_NOTICE_KINDS; kind++) {
        if (!dw_job_waits_for_owner((DwJobState)job->state) && !is_noted(page->request, job, kind))
            continue;
        char *words = dw_field_word(field, kind), *typed = dw_memory_text(words);
        for (char *at = typed; *at; at++)
            *at = *at == ' ' ? '-' : *at;
        dw_html_open(page->html, "div", "class", "acts", NULL);
        *words = (char)toupper((unsigned char)*words);
        write_sizes(page, job, "notice", typed, words);
        dw_html_close(page->html, "div");
        free(words);
        free(typed);
    }
}

static void write_paper(DwPage *page, const DwJob *job, const Paper *paper)
{
    DwHtml *html = page->html;
    char *words = dw_text_format("/job/%04lld/words/%s", (long long)job->number, paper->name);
    dw_html_open(html, "section", "class", "paper", NULL);
    dw_html_element(html, "h2", dw_words(paper->words), NULL);
    if (!is_there(page->request, paper, job))
        dw_html_element(html, "p", dw_words(paper->missing), "class", "quiet", NULL);
    else {
        if (strcmp(paper->name, "notice") == 0)
            write_notices(page, job);
        else {
            dw_html_open(html, "div", "class", "acts", NULL);
            write_sizes(page, job, paper->name, NULL, dw_words(paper->words));
            dw_html_close(html, "div");
        }
        dw_html_open(html, "p", NULL);
        dw_html_element(html, "a", _("Edit its words for this job"), "href", words, "class", "alone", NULL);
        dw_html_close(html, "p");
    }
    dw_html_close(html, "section");
    free(words);
}

// An unsafe deck: what its papers carry, before any of them is opened.
static void write_unsafe(DwPage *page, int64_t job)
{
    DwRecords verdicts;
    bool headed = false;
    if (dw_verdict_standing(page->request->book, job, &verdicts, NULL) != DW_OK)
        return;
    for (size_t i = 0; i < verdicts.count; i++) {
        const DwItemVerdict *verdict = (const DwItemVerdict *)dw_records_at(&verdicts, i);
        if (verdict->grade != DW_VERDICT_UNSAFE)
            continue;
        if (!headed) {
            dw_html_open(page->html, "div", "class", "unsafe-box", NULL);
            dw_page_verdict(page, DW_VERDICT_UNSAFE);
            dw_html_element(page->html, "p", _("Every paper of this deck says so, with who was told."), NULL);
            dw_html_open(page->html, "ul", NULL);
        }
        headed = true;
        dw_html_element(page->html, "li", verdict->item, NULL);
    }
    if (headed) {
        dw_html_close(page->html, "ul");
        dw_html_close(page->html, "div");
    }
    dw_records_clear(&verdicts);
}

static void write_signing(DwPage *page, const DwJob *job)
{
    char *intake = dw_text_format("/job/%04lld/sign?at=intake", (long long)job->number);
    char *hand_over = dw_text_format("/job/%04lld/sign?at=handover", (long long)job->number);
    dw_html_open(page->html, "div", "class", "acts", NULL);
    dw_html_element(page->html, "a", _("Sign at intake"), "href", intake, "class", "button second", NULL);
    dw_html_element(page->html, "a", _("Sign at hand-over"), "href", hand_over, "class", "button second", NULL);
    dw_html_close(page->html, "div");
    free(intake);
    free(hand_over);
}

static DwAnswer show_papers(const DwWebRequest *request)
{
    DwAnswer answer;
    DwJob job;
    if (dw_job_head_find(request, &job, &answer)) {
        DwPage *page =
            dw_page_begin(request, &(DwPageHead){.title = _("Papers"), .style = "photo.css", .room = DW_ROOM_BOARD});
        dw_job_head_write(page, &job, _("Papers"));
        write_unsafe(page, job.record.id);
        write_signing(page, &job);
        for (size_t i = 0; i < PAPERS; i++)
            write_paper(page, &job, &papers[i]);
        answer = dw_page_end(page);
    }
    dw_record_clear(&job.record);
    return answer;
}

// Writes the paper to a file of its own among what comes in, which nobody else reads,
// and takes it from there.
static DwStatus make_paper(const DwWebRequest *request, const DwJob *job, const char *name, char **bytes,
                           size_t *length, DwMessage *message)
{
    char token[65], *number = dw_text_format("%lld", (long long)job->number);
    dw_access_token(token);
    char *path = dw_text_format("%s/incoming/%s", dw_book_folder(request->book), token);
    const char *size = dw_request_query(request, "size"), *notice = dw_request_query(request, "notice");
    const char *invoice = dw_request_query(request, "invoice");
    DwReportOptions options = {.paper = *size ? size : NULL,
                               .notice = *notice ? notice : NULL,
                               .invoice = *invoice ? invoice : NULL,
                               .data_folder = dw_data_folder()};
    DwStatus status = dw_report_write(request->book, name, number, &options, path, message);
    *bytes = status == DW_OK ? dw_request_read(path, length) : NULL;
    if (status == DW_OK && !*bytes)
        status = dw_fail(message, DW_FAILED, "The paper was written and could not be read back. Try again.");
    unlink(path);
    free(path);
    free(number);
    return status;
}

static DwAnswer send_paper(const DwWebRequest *request)
{
    DwAnswer answer;
    DwJob job;
    const Paper *paper = find_paper(dw_request_path(request, "paper"));
    if (!paper)
        answer = dw_answer_refusal(404, _("There is no such paper."));
    else if (dw_job_head_find(request, &job, &answer)) {
        char *bytes = NULL;
        size_t length = 0;
        DwMessage message;
        DwStatus status = make_paper(request, &job, paper->name, &bytes, &length, &message);
        if (status == DW_OK) {
            char *shown = dw_text_format("inline; filename=\"%s-%04lld.pdf\"", paper->name, (long long)job.number);
            answer = dw_answer_bytes("application/pdf", bytes, length);
            dw_answer_tell(&answer, "Content-Disposition", shown);
            // Browsers show a PDF in a page of their own with styles of their own.
            dw_answer_tell(&answer, "Content-Security-Policy",
                           "default-src 'none'; style-src 'unsafe-inline'; object-src 'self'; frame-ancestors 'none'");
            free(shown);
        } else
            answer = dw_answer_trouble(status, &message);
    }
    if (paper)
        dw_record_clear(&job.record);
    return answer;
}

// A sentence, or room for one, and not a heading or the name of a column.
static bool is_sentence(const char *text)
{
    enum { LABEL_MOST = 32 };
    return *text == '\0' || strlen(text) > LABEL_MOST || strchr(text, '.');
}

static void write_drop(DwPage *page, const char *path, const char *key)
{
    char *words = dw_text_format(_("Take back the edit of %s"), key);
    dw_form_begin(page, path, false);
    dw_html_void(page->html, "input", "type", "hidden", "name", "key", "value", key, NULL);
    dw_html_element(page->html, "button", _("Take the edit back"), "type", "submit", "name", "act", "value", "drop",
                    "class", "second", "aria-label", words, NULL);
    dw_form_end(page);
    free(words);
}

// "paper.unsafe.text" as a person calls it: "Unsafe: text". The caller frees it.
static char *text_name(const char *key)
{
    const char *from = strncmp(key, "paper.", 6) == 0 ? key + 6 : key;
    DwText name = {0};
    for (const char *at = from; *at; at++)
        dw_text_add(&name, "%s", *at == '.' ? ": " : *at == '_' ? " " : (char[]){*at, '\0'});
    char *words = dw_text_take(&name);
    dw_text_begin_sentence(words);
    return words;
}

static void write_text(DwPage *page, const char *path, const DwReportText *text)
{
    DwHtml *html = page->html;
    char *name = text_name(text->key);
    const char *help = text->edited ? _("Edited for this job.") : NULL;
    dw_html_open(html, "li", "class", "wording", NULL);
    dw_form_begin(page, path, true);
    dw_html_void(html, "input", "type", "hidden", "name", "key", "value", text->key, NULL);
    if (is_sentence(text->text))
        dw_form_area(page, "text", name, text->text, help);
    else
        dw_form_text(page, "text", name, text->text, "text", help);
    dw_form_button(page, _("Keep"));
    dw_form_end(page);
    if (text->edited)
        write_drop(page, path, text->key);
    dw_html_close(html, "li");
    free(name);
}

// What a paper counts and names by: it says nothing by itself, however long it is.
static bool is_part(const char *key)
{
    static const char *const groups[] = {"numbers.",     "caution_words.", "unmeasured.", "names.",
                                         "proof_names.", "labels.",        "units.",      "readings.",
                                         "charts.",      "choices.",       "sources."};
    for (size_t i = 0; i < sizeof groups / sizeof *groups; i++)
        if (strncmp(key, groups[i], strlen(groups[i])) == 0)
            return true;
    return false;
}

// The texts that were edited first, then what is said in sentences, then headings and labels.
static int rank(const DwReportText *text)
{
    return text->edited ? 0 : is_sentence(text->text) && !is_part(text->key) ? 1 : 2;
}

static void write_rank(DwPage *page, const char *path, const DwReportTexts *texts, int wanted)
{
    bool any = false;
    for (size_t i = 0; i < texts->count; i++) {
        if (rank(&texts->texts[i]) != wanted)
            continue;
        if (!any)
            dw_html_open(page->html, "ul", "class", "wordings", NULL);
        any = true;
        write_text(page, path, &texts->texts[i]);
    }
    if (any)
        dw_html_close(page->html, "ul");
}

static DwAnswer write_words(const DwWebRequest *request, const DwJob *job, const Paper *paper,
                            const DwReportTexts *texts)
{
    char *path = dw_text_format("/job/%04lld/words/%s", (long long)job->number, paper->name);
    char *title = dw_text_format(_("Words of the paper: %s"), dw_words(paper->words));
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = title, .style = "photo.css", .room = DW_ROOM_BOARD});
    dw_job_head_write(page, job, title);
    dw_html_element(page->html, "p",
                    _("What is changed here stands on this paper of this job whenever it is printed again. Names in "
                      "braces are filled in. An emptied text says again what it said before."),
                    NULL);
    dw_html_open(page->html, "div", "class", "acts", NULL);
    write_sizes(page, job, paper->name, NULL, dw_words(paper->words));
    dw_html_close(page->html, "div");
    write_rank(page, path, texts, 0);
    write_rank(page, path, texts, 1);
    dw_html_open(page->html, "details", NULL);
    dw_html_element(page->html, "summary", _("Headings and labels"), NULL);
    write_rank(page, path, texts, 2);
    dw_html_close(page->html, "details");
    DwAnswer answer = dw_page_end(page);
    free(path);
    free(title);
    return answer;
}

static DwStatus edit_words(const DwWebRequest *request, const char *name, const char *number, DwMessage *message)
{
    const char *key = dw_request_field(request, "key"), *text = dw_request_field(request, "text");
    DwReportOptions options = {.data_folder = dw_data_folder()};
    bool drop = strcmp(dw_request_field(request, "act"), "drop") == 0 || text[strspn(text, " \r\n\t")] == '\0';
    return drop ? dw_report_drop(request->book, name, number, key, message)
                : dw_report_edit(request->book, name, number, &options, key, text, message);
}

// Shows the words of a paper, or with POST changes one of them.
static DwAnswer with_words(const DwWebRequest *request, bool post)
{
    DwAnswer answer;
    DwJob job;
    DwMessage message;
    const Paper *paper = find_paper(dw_request_path(request, "paper"));
    if (!paper)
        return dw_answer_refusal(404, _("There is no such paper."));
    if (dw_job_head_find(request, &job, &answer)) {
        DwReportTexts texts = {0};
        DwReportOptions options = {.data_folder = dw_data_folder()};
        char *number = dw_text_format("%lld", (long long)job.number);
        char *path = dw_text_format("/job/%04lld/words/%s", (long long)job.number, paper->name);
        DwStatus status = post ? edit_words(request, paper->name, number, &message)
                               : dw_report_texts(request->book, paper->name, number, &options, &texts, &message);
        if (status != DW_OK)
            answer = dw_answer_trouble(status, &message);
        else if (post)
            answer = dw_answer_kept(_("Kept for this job."), path);
        else
            answer = write_words(request, &job, paper, &texts);
        dw_report_texts_clear(&texts);
        free(number);
        free(path);
    }
    dw_record_clear(&job.record);
    return answer;
}

static DwAnswer show_words(const DwWebRequest *request)
{
    return with_words(request, false);
}

static DwAnswer keep_words(const DwWebRequest *request)
{
    return with_words(request, true);
}

const DwWebRoute dw_routes_papers[] = {
    {"GET", "/job/:number/papers", show_papers, false},
    {"GET", "/job/:number/paper/:paper", send_paper, false},
    {"GET", "/job/:number/words/:paper", show_words, false},
    {"POST", "/job/:number/words/:paper", keep_words, false},
    {0},
};
