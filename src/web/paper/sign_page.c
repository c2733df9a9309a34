// SPDX-License-Identifier: MIT
// Signing at intake and at hand-over: what is signed in plain words, the ticks that go
// with it, and the signature, drawn or typed. What was signed is kept with it.
#include "base/memory.h"
#include "base/text.h"
#include "book/job/intake.h"
#include "book/money/consent.h"
#include "book/shop/settings.h"
#include "book/store/attachment.h"
#include "web/job/job_head.h"
#include "web/job/job_line.h"
#include "web/page/page.h"
#include "web/paper/pages.h"
#include "web/photo/photo.h"
#include "web/server/words.h"

#include <stdlib.h>
#include <string.h>

static void write_statement(DwPage *page, const DwSigning *signing)
{
    DwHtml *html = page->html;
    dw_html_element(html, "h2", _("What is signed"), NULL);
    dw_html_open(html, "ul", "class", "statement", NULL);
    for (size_t i = 0; i < signing->line_count; i++)
        dw_html_element(html, "li", signing->lines[i], NULL);
    dw_html_close(html, "ul");
    if (signing->terms && *signing->terms) {
        dw_html_element(html, "h3", _("Terms"), NULL);
        dw_html_element(html, "p", signing->terms, "class", "terms", NULL);
    }
}

static void write_ticks(DwPage *page, const DwSigning *signing)
{
    if (signing->tick_count == 0)
        return;
    dw_html_open(page->html, "fieldset", NULL);
    dw_html_element(page->html, "legend", _("Tick what holds"), NULL);
    for (size_t i = 0; i < signing->tick_count; i++)
        dw_form_tick(page, signing->ticks[i].key, signing->ticks[i].words, signing->ticks[i].set);
    dw_html_close(page->html, "fieldset");
}

static void write_canvas(DwPage *page)
{
    DwHtml *html = page->html;
    dw_html_open(html, "div", "id", "drawing", "hidden", DW_HTML_BARE, NULL);
    dw_html_element(html, "p", _("Sign with a finger, a pen or the mouse."), "id", "drawing-title", NULL);
    dw_html_open(html, "canvas", "id", "signature", "width", "900", "height", "320", "role", "img", "aria-labelledby",
                 "drawing-title", NULL);
    dw_html_close(html, "canvas");
    dw_html_open(html, "div", "class", "acts", NULL);
    dw_html_element(html, "button", _("Clear"), "type", "button", "id", "clear", "class", "second", NULL);
    dw_html_close(html, "div");
    dw_html_close(html, "div");
}

static void write_form(DwPage *page, const DwSigning *signing)
{
    char *path = dw_text_format("/job/%04lld/sign?at=%s", (long long)signing->job->number, signing->at);
    DwHtml *html = page->html;
    dw_html_open(html, "div", "id", "sign", "data-empty", _("Sign first, or type the name."), NULL);
    dw_form_begin(page, path, false);
    write_ticks(page, signing);
    dw_form_text(page, "person", _("Who signs"), signing->person, "text", NULL);
    write_canvas(page);
    dw_form_text(page, "typed", _("Or type the name as a signature"), "", "text",
                 _("It is recorded as typed, not written by hand."));
    dw_form_button(page, _("Sign"));
    dw_form_end(page);
    dw_html_close(html, "div");
    free(path);
}

// The signatures that were given at this point before: the last one stands on the paper.
static void write_given(DwPage *page, const DwSigning *signing)
{
    DwRecords all;
    if (dw_attachment_of_job(page->request->book, signing->job->record.id, &all, NULL) != DW_OK)
        return;
    bool headed = false;
    for (size_t i = all.count; i-- > 0;) {
        const DwAttachment *given = (const DwAttachment *)dw_records_at(&all, i);
        if (given->kind != DW_ATTACHMENT_SIGNATURE || given->phase != signing->phase)
            continue;
        if (!headed)
            dw_html_element(page->html, "h2", _("Signed already"), NULL);
        headed = true;
        dw_html_open(page->html, "figure", "class", "signature", NULL);
        dw_photo_show(page, given, DW_PICTURES_SMALL);
        dw_html_open(page->html, "figcaption", NULL);
        dw_html_format(page->html, "%s, %s", given->caption ? given->caption : "", dw_page_moment(given->at).text);
        dw_html_close(page->html, "figcaption");
        dw_html_close(page->html, "figure");
    }
    dw_records_clear(&all);
}

static DwAnswer show_page(const DwWebRequest *request, DwSigning *signing)
{
    const char *title = signing->phase == DW_PHASE_AS_LEFT ? _("Sign at hand-over") : _("Sign at intake");
    DwPage *page = dw_page_begin(
        request, &(DwPageHead){.title = title, .style = "photo.css", .script = "sign.js", .room = DW_ROOM_BOARD});
    dw_job_head_write(page, signing->job, title);
    char *here = dw_text_format("/job/%04lld/sign?at=%s", (long long)signing->job->number, signing->at);
    dw_page_hand_over(page, here);
    free(here);
    write_statement(page, signing);
    write_form(page, signing);
    if (!request->locked)
        write_given(page, signing);
    return dw_page_end(page);
}

// The signature as PNG: what was drawn, else the typed name. The caller frees *BYTES with free().
static DwStatus read_signature(const DwWebRequest *request, bool *drawn, char **bytes, size_t *length,
                               DwMessage *message)
{
    DwSentFile file;
    const char *typed = dw_request_field(request, "typed");
    *drawn = dw_request_file(request, "signature", &file);
    if (*drawn)
        return dw_signing_read_drawn(file.path, file.bytes, bytes, length, message);
    if (typed[strspn(typed, " \t")] == '\0')
        return dw_fail(message, DW_BAD_INPUT, "Nobody has signed yet. Draw the signature, or type the name.");
    return dw_signing_draw_typed(typed, bytes, length, message);
}

static DwStatus sign(const DwWebRequest *request, DwSigning *signing, DwMessage *message)
{
    bool drawn;
    char *bytes = NULL;
    size_t length = 0;
    const char *person = dw_request_field(request, "person");
    DwStatus status = read_signature(request, &drawn, &bytes, &length, message);
    for (size_t i = 0; i < signing->tick_count && status == DW_OK; i++)
        if (dw_request_sent(request, signing->ticks[i].key))
            signing->ticks[i].set = strcmp(dw_request_field(request, signing->ticks[i].key), "yes") == 0;
    if (status == DW_OK)
        status =
            dw_signing_keep(request->book, signing, *person ? person : signing->person, drawn, bytes, length, message);
    free(bytes);
    return status;
}

// What the customer reads on a screen that was handed over: it has no other page to go to.
static DwAnswer thank(const DwWebRequest *request)
{
    const char *words = _("Signed and kept. Thank you: please hand the screen back.");
    if (dw_request_by_script(request))
        return dw_answer_kept(words, "/unlock");
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = _("Signed"), .room = DW_ROOM_BOARD});
    dw_html_element(page->html, "h1", words, NULL);
    return dw_page_end(page);
}

static DwAnswer keep_signature(const DwWebRequest *request, DwSigning *signing)
{
    DwMessage message;
    DwStatus status = sign(request, signing, &message);
    if (status != DW_OK)
        return dw_answer_trouble(status, &message);
    if (request->locked)
        return thank(request);
    char *path = dw_text_format("/job/%04lld/papers", (long long)signing->job->number);
    DwAnswer answer = dw_answer_kept(_("Signed and kept."), path);
    free(path);
    return answer;
}

// Nobody asked for a certain signature, and there is nothing to sign yet.
static DwAnswer show_nothing_yet(const DwWebRequest *request, const DwJob *job, const char *why)
{
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = _("Signatures"), .room = DW_ROOM_BOARD});
    dw_job_head_write(page, job, _("Nothing to sign yet"));
    dw_page_words(page, why, NULL, "lead", false);
    return dw_page_end(page);
}

// Reads what there is to sign at the point the address names, and shows it or keeps the signature that was posted.
static DwAnswer with_signing(const DwWebRequest *request, bool post)
{
    DwAnswer answer;
    DwJob job;
    DwSigning signing;
    DwMessage message;
    if (dw_job_head_find(request, &job, &answer)) {
        const char *at = dw_request_query(request, "at");
        if (!*at) // what is next to be signed
            at = job.state < DW_JOB_READY ? "intake" : "handover";
        DwStatus status = dw_signing_read(request->book, &job, at, &signing, &message);
        if (status == DW_OK)
            answer = post ? keep_signature(request, &signing) : show_page(request, &signing);
        else if (status == DW_BAD_INPUT && !post && !*dw_request_query(request, "at"))
            answer = show_nothing_yet(request, &job, dw_message_said(&message));
        else
            answer = dw_answer_trouble(status, &message);
        dw_signing_clear(&signing);
    }
    dw_record_clear(&job.record);
    return answer;
}

static DwAnswer show_sign(const DwWebRequest *request)
{
    return with_signing(request, false);
}

static DwAnswer post_sign(const DwWebRequest *request)
{
    return with_signing(request, true);
}

const DwWebRoute dw_routes_sign[] = {
    {"GET", "/job/:number/sign", show_sign, false},
    {"POST", "/job/:number/sign", post_sign, false},
    {0},
};
