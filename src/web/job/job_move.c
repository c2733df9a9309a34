// SPDX-License-Identifier: MIT
// Moving a job on. Where its papers speak against a state, that is asked about
// first; whoever is sure goes on.
#include "base/text.h"
#include "book/entry/work_move.h"
#include "web/job/job_head.h"
#include "web/job/pages.h"
#include "web/page/kept.h"
#include "web/server/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void carry(DwPage *page, const char *name, const char *value)
{
    dw_html_void(page->html, "input", "type", "hidden", "name", name, "value", value, NULL);
}

static DwAnswer ask(const DwWebRequest *request, const DwJob *job, const char *state, const char *doubt)
{
    char *path = dw_text_format("/job/%04lld", (long long)job->number), *action = dw_text_format("%s/move", path);
    char *sure = dw_text_format(_("Move it to “%s” all the same"), dw_words(state));
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = _("Is that so?"), .room = DW_ROOM_BOARD});
    DwHtml *html = page->html;
    dw_job_head_write(page, job, _("Is that so?"));
    dw_html_element(html, "p", dw_words(doubt), "class", "lead", NULL);
    dw_form_begin(page, action, false);
    carry(page, "state", state);
    carry(page, "sure", "yes");
    carry(page, "waiting_for", dw_request_field(request, "waiting_for"));
    carry(page, "note", dw_request_field(request, "note"));
    dw_html_open(html, "div", "class", "acts", NULL);
    dw_form_button(page, sure);
    dw_html_element(html, "a", _("Leave it where it is"), "href", path, "class", "button second", NULL);
    dw_html_close(html, "div");
    dw_form_end(page);
    free(path);
    free(action);
    free(sure);
    return dw_page_end(page);
}

// What speaks against moving JOB to STATE, NULL when nothing does or whoever moves it is sure.
static DwStatus find_doubt(const DwWebRequest *request, const DwJob *job, DwJobState state, const char **doubt,
                           DwMessage *message)
{
    DwWorkFacts facts;
    *doubt = NULL;
    if (strcmp(dw_request_field(request, "sure"), "yes") == 0)
        return DW_OK;
    DwStatus status = dw_work_line_read(request->book, job->record.id, &facts, message);
    if (status == DW_OK)
        *doubt = dw_work_move_doubt(&facts, state);
    return status;
}

static DwAnswer move(const DwWebRequest *request, const DwJob *job)
{
    const char *word = dw_request_field(request, "state"), *doubt;
    int state = dw_field_choice(dw_field_find(&dw_job_entity, "state"), word);
    DwMessage message;
    if (state < 0)
        return dw_answer_refusal(400, _("That is no state of a job."));
    DwStatus status = find_doubt(request, job, (DwJobState)state, &doubt, &message);
    if (status == DW_OK && doubt)
        return ask(request, job, word, doubt);
    if (status == DW_OK)
        status = dw_job_move(request->book, job->record.id, (DwJobState)state, dw_request_field(request, "waiting_for"),
                             dw_request_field(request, "note"), &message);
    if (status != DW_OK)
        return dw_answer_trouble(status, &message);
    char path[32];
    snprintf(path, sizeof path, "/job/%04lld", (long long)job->number);
    return dw_kept_answer(request, &(DwKept){.path = path});
}

static DwAnswer answer_move(const DwWebRequest *request)
{
    DwAnswer answer;
    DwJob job;
    if (dw_job_head_find(request, &job, &answer))
        answer = move(request, &job);
    dw_record_clear(&job.record);
    return answer;
}

const DwWebRoute dw_routes_job_move[] = {
    {"POST", "/job/:number/move", answer_move, false},
    {0},
};
