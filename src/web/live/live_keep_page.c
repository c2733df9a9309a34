// SPDX-License-Identifier: MIT
#include "base/memory.h"
#include "base/text.h"
#include "book/shop/register.h"
#include "procedure/job/job_sheet.h"
#include "web/job/job_line.h"
#include "web/live/live_room.h"
#include "web/live/pages.h"
#include "web/measure/measure_recordings.h"
#include "web/measure/question.h"
#include "web/page/page.h"
#include "web/server/access.h"
#include "web/server/words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

// Before the place where a stretch ended, in the list of what can be kept.
static const char stretch_mark[] = "before:";

// --- the forms -----------------------------------------------------------------------

// The procedures that measure one recording, the speed first.
static void write_procedures(DwPage *page)
{
    enum { MOST = 40 };
    const char *words[MOST], *values[MOST];
    const DwProcedure *procedure;
    size_t count = 0;
    for (size_t pass = 0; pass < 2; pass++)
        for (size_t i = 0; (procedure = dw_procedure_at(i)) && count < MOST - 1; i++) {
            if (procedure->takes != DW_TAKES_SOUND || procedure->recordings_least != 1 ||
                (strcmp(procedure->name, "speed") == 0) != (pass == 0))
                continue;
            words[count] = dw_words(procedure->title);
            values[count++] = procedure->name;
        }
    words[count] = _("Nothing: the recording alone");
    values[count++] = "";
    const char *asked = dw_request_query(page->request, "procedure");
    dw_form_choice(page, "procedure", _("Measure"), words, values, count, *asked ? asked : "speed", NULL);
}

static void write_stretch(DwPage *page, const DwLiveSnapshot *snapshot)
{
    enum { LASTS = 5, MOST = LASTS + DW_LIVE_STRETCHES };
    const char *values[MOST] = {"", "10", "30", "60", "120"};
    const char *words[MOST] = {_("All that is held"), _("The last 10 s"), _("The last 30 s"), _("The last minute"),
                               _("The last two minutes")};
    char *made[2 * DW_LIVE_STRETCHES];
    size_t count = LASTS;
    for (size_t i = 0; i < snapshot->stretches; i++, count++) {
        const DwLiveStretch *stretch = &snapshot->stretch[i];
        made[2 * i] = dw_text_format("%s%llu", stretch_mark, (unsigned long long)stretch->to);
        made[2 * i + 1] = dw_text_format(_("The %.0f s before the input was away"),
                                         (double)(stretch->to - stretch->from) / snapshot->rate_hz);
        values[count] = made[2 * i];
        words[count] = made[2 * i + 1];
    }
    dw_form_choice(page, "last", _("Of what was heard"), words, values, count, "30",
                   _("Up to now, or to the moment that is frozen."));
    for (size_t i = 0; i < 2 * snapshot->stretches; i++)
        free(made[i]);
}

static void write_how(DwPage *page, unsigned place, const DwLiveSnapshot *snapshot)
{
    DwHtml *html = page->html;
    dw_html_open(html, "details", "id", dw_live_id(place, "how").text, NULL);
    dw_html_element(html, "summary", _("How it is kept"), NULL);
    dw_html_open(html, "div", "class", "fields", NULL);
    write_procedures(page);
    write_stretch(page, snapshot);
    dw_job_line_choose(page, "job", dw_request_query(page->request, "job"));
    dw_job_line_choose_phase(page, "as", dw_request_query(page->request, "as"));
    dw_html_close(html, "div");
    dw_form_tick(page, "recording", _("Keep the recording on the job too"), false);
    dw_html_element(html, "button", _("Keep it on the job at once"), "type", "submit", "name", "at_once", "value",
                    "yes", "class", "second", NULL);
    dw_html_close(html, "details");
}

// What stands at the thumb. Its keys are no letters, which typing would set off.
static void write_thumb(DwPage *page, unsigned place)
{
    DwHtml *html = page->html;
    dw_html_open(html, "div", "class", "thumb", NULL);
    dw_html_open(html, "button", "type", "button", "id", dw_live_id(place, "freeze").text, "class",
                 "second only-scripted", "aria-keyshortcuts", "F2", NULL);
    dw_html_element(html, "span", _("Freeze"), "id", dw_live_id(place, "freeze-word").text, NULL);
    dw_html_element(html, "kbd", "F2", NULL);
    dw_html_close(html, "button");
    dw_html_open(html, "div", "class", "name", NULL);
    dw_html_element(html, "label", _("Name"), "for", dw_live_id(place, "name").text, NULL);
    dw_html_void(html, "input", "id", dw_live_id(place, "name").text, "name", "name", "type", "text", "maxlength",
                 "120", "autocomplete", "off", NULL);
    dw_html_close(html, "div");
    dw_html_open(html, "button", "type", "submit", "id", dw_live_id(place, "keep").text, "aria-keyshortcuts", "F4",
                 NULL);
    dw_html_element(html, "span", _("Keep"), NULL);
    dw_html_element(html, "kbd", "F4", "class", "only-scripted", NULL);
    dw_html_close(html, "button");
    dw_html_close(html, "div");
}

void dw_live_keep_write_clock(DwPage *page, unsigned place, const DwLiveSnapshot *snapshot)
{
    enum { MOST = 40 };
    DwRecords chains;
    DwMessage message;
    const char *words[MOST], *values[MOST];
    char ids[MOST][24];
    size_t count = 0;
    if (dw_record_list(page->request->book, &dw_chain_entity, NULL, 0, &chains, &message) != DW_OK)
        return;
    for (size_t i = 0; i < chains.count && count < MOST; i++) {
        const DwChain *chain = (const DwChain *)dw_records_at(&chains, i);
        snprintf(ids[count], sizeof ids[count], "%lld", (long long)chain->record.id);
        words[count] = chain->name;
        values[count] = ids[count];
        count++;
    }
    if (count) {
        bool known = snapshot->clock.is_sure;
        dw_html_open(page->html, "div", "id", dw_live_id(place, "clock-keep").text, "hidden", DW_HTML_IF(!known), NULL);
        dw_form_begin(page, place ? "/live/clock?place=2" : "/live/clock", false);
        dw_form_choice(page, "chain", _("Keep it as the clock error of the chain"), words, values, count, NULL, NULL);
        dw_form_button(page, _("Keep the clock error"));
        dw_form_end(page);
        dw_html_close(page->html, "div");
    }
    dw_records_clear(&chains);
}

void dw_live_keep_write(DwPage *page, unsigned place, const DwLiveSnapshot *snapshot)
{
    DwHtml *html = page->html;
    dw_html_open(html, "div", "id", dw_live_id(place, "keep-form").text, NULL);
    dw_form_begin(page, place ? "/live/keep?place=2" : "/live/keep", false);
    dw_html_void(html, "input", "type", "hidden", "name", "until", "id", dw_live_id(place, "until").text, "value", "",
                 NULL);
    write_how(page, place, snapshot);
    write_thumb(page, place);
    dw_form_end(page);
    dw_html_close(html, "div");
}

// --- keeping ---------------------------------------------------------------------------

typedef struct {
    DwMeasureForm form; // its procedure, job, phase and inputs
    DwPhase phase;
    bool at_once, recording;
    char *name, *path; // of the recording
    DwSheet *sheet;
} Keeping;

static bool is_yes(const DwWebRequest *request, const char *name)
{
    return strcmp(dw_request_field(request, name), "yes") == 0;
}

static DwStatus read_procedure(const DwWebRequest *request, Keeping *keeping, DwMessage *message)
{
    const char *name = dw_request_field(request, "procedure");
    if (!*name)
        return keeping->recording ? DW_OK
                                  : dw_fail(message, DW_BAD_INPUT, "%s",
                                            _("Say what to keep: a measurement, the recording, or both."));
    keeping->form.procedure = dw_procedure_find(name);
    if (!keeping->form.procedure || keeping->form.procedure->takes != DW_TAKES_SOUND ||
        keeping->form.procedure->recordings_least != 1)
        return dw_fail(message, DW_BAD_INPUT, "%s", _("Nothing of that name can be measured of what was heard."));
    return DW_OK;
}

static DwStatus read_job(const DwWebRequest *request, Keeping *keeping, DwMessage *message)
{
    const char *number = dw_request_field(request, "job");
    DwMeasureForm *form = &keeping->form;
    form->as = dw_request_field(request, "as");
    if (!*number)
        return keeping->at_once || keeping->recording
                   ? dw_fail(message, DW_BAD_INPUT, "%s", _("Say on which job it is to be kept."))
                   : DW_OK;
    DwStatus status = dw_job_find(request->book, number, &form->job, message);
    form->has_job = status == DW_OK;
    if (status == DW_OK && (*form->as || keeping->at_once))
        status = dw_job_sheet_phase(form->as, &keeping->phase, message);
    if (status == DW_OK && form->procedure)
        status =
            dw_job_sheet_prefill(request->book, &form->job, keeping->phase, form->procedure, form->inputs, message);
    return status;
}

static DwStatus begin_keeping(const DwWebRequest *request, Keeping *keeping, DwMessage *message)
{
    char token[65];
    dw_access_token(token);
    *keeping = (Keeping){.recording = is_yes(request, "recording") || !*dw_request_field(request, "procedure"),
                         .at_once = is_yes(request, "at_once"),
                         .path = dw_text_format("%s/incoming/live-%s.flac", dw_book_folder(request->book), token),
                         .form = {.inputs = dw_inputs_new()}};
    dw_record_init(&keeping->form.job.record, &dw_job_entity);
    const char *name = dw_request_field(request, "name");
    DwLiveSnapshot *snapshot = dw_live_room_look(request->site->live, dw_live_place(request));
    keeping->name = *name ? dw_memory_text(name) : dw_text_format(_("Live, %s"), snapshot->input);
    free(snapshot);
    DwStatus status = read_procedure(request, keeping, message);
    if (status == DW_OK)
        status = read_job(request, keeping, message);
    if (status == DW_OK && keeping->form.procedure)
        dw_live_room_add_inputs(request->site->live, dw_live_place(request), keeping->form.procedure,
                                keeping->form.inputs);
    return status;
}

static void end_keeping(Keeping *keeping)
{
    unlink(keeping->path);
    free(keeping->path);
    free(keeping->name);
    dw_sheet_free(keeping->sheet);
    dw_inputs_free(keeping->form.inputs);
    dw_record_clear(&keeping->form.job.record);
}

// Reads which stretch is to be kept into KEEP: its length, or the end of an earlier one.
static DwStatus read_stretch(const DwWebRequest *request, DwLiveKeep *keep, DwMessage *message)
{
    const char *last = dw_request_field(request, "last");
    size_t mark = strlen(stretch_mark);
    if (strncmp(last, stretch_mark, mark) == 0) {
        keep->until = strtoull(last + mark, NULL, 10);
        return keep->until ? DW_OK
                           : dw_fail(message, DW_BAD_INPUT, "%s", _("Choose one of the stretches that are listed."));
    }
    if (dw_text_number_clear(NULL, last, message) != DW_OK)
        return DW_BAD_INPUT;
    const char *end = *last ? dw_text_number(last, &keep->last_s) : last;
    if (*last && (!end || *end || !(keep->last_s >= 1)))
        return dw_fail(message, DW_BAD_INPUT, "%s", _("Say how many seconds of it, 1 or more."));
    return DW_OK;
}

// Why it was not measured, and where what was heard is now.
static DwStatus refuse(const DwWebRequest *request, Keeping *keeping, DwStatus status, DwMessage *message)
{
    const DwMeasureForm *form = &keeping->form;
    if (!form->procedure || access(keeping->path, R_OK) != 0) // nothing was heard, or it was the recording that failed
        return status;
    DwMessage unkept;
    bool is_kept = form->has_job && keeping->recording &&
                   dw_measure_recordings_keep_one(request, form, keeping->path, keeping->name, &unkept) == DW_OK;
    char *why = dw_memory_text(dw_message_said(message));
    dw_fail(message, status, "%s %s", why,
            is_kept ? _("The recording is kept on the job.")
                    : _("What was heard is still held: change what is asked for, or keep the recording alone."));
    free(why);
    return status;
}

// Measures and writes the recording; where it lies is told by its name.
static DwStatus take(const DwWebRequest *request, Keeping *keeping, DwMessage *message)
{
    DwMeasureForm *form = &keeping->form;
    DwLiveKeep keep = {.last_s = NAN,
                       .until = strtoull(dw_request_field(request, "until"), NULL, 10),
                       .procedure = form->procedure ? form->procedure->name : NULL,
                       .inputs = form->inputs,
                       .path = keeping->path};
    DwStatus status = read_stretch(request, &keep, message);
    if (status != DW_OK)
        return status;
    status = dw_live_session_keep(dw_live_room_session(request->site->live, dw_live_place(request)), &keep,
                                  &keeping->sheet, message);
    DwMeasureRecordings names = {.paths = {keeping->path}, .names = {keeping->name}, .count = 1};
    if (keeping->sheet) {
        dw_measure_recordings_name(&names, keeping->sheet);
        dw_sheet_set_subject(keeping->sheet, keeping->name);
    }
    if (status != DW_OK) {
        char *words = dw_memory_text(dw_message_said(message));
        dw_measure_recordings_name_in(&names, &words);
        status = dw_fail(message, status, "%s", words);
        free(words);
        status = refuse(request, keeping, status, message);
    }
    return status;
}

// What was kept is said in ANSWER.
static DwStatus keep(const DwWebRequest *request, Keeping *keeping, DwAnswer *answer, DwMessage *message)
{
    DwMeasureForm *form = &keeping->form;
    int64_t id = 0;
    DwStatus status = take(request, keeping, message);
    if (status == DW_OK && keeping->sheet && form->has_job)
        status = dw_job_sheet_bound(request->book, &form->job, keeping->sheet, message);
    if (status == DW_OK && keeping->recording)
        status = dw_measure_recordings_keep_one(request, form, keeping->path, keeping->name, message);
    if (status == DW_OK && keeping->sheet && keeping->at_once)
        status = dw_job_sheet_keep(request->book, dw_request_field(request, "job"), keeping->phase, keeping->sheet, &id,
                                   message);
    if (status != DW_OK)
        return status;
    if (id)
        *answer = dw_answer_go("/sheet/%lld", (long long)id);
    else if (keeping->sheet) {
        *answer = dw_measure_form_put_aside(request, form, keeping->sheet);
        keeping->sheet = NULL;
    } else
        *answer = dw_answer_go("/job/%04lld", (long long)form->job.number);
    return DW_OK;
}

static DwAnswer post_keep(const DwWebRequest *request)
{
    DwAnswer answer;
    Keeping keeping;
    DwMessage message;
    DwStatus status = begin_keeping(request, &keeping, &message);
    if (status == DW_OK)
        status = keep(request, &keeping, &answer, &message);
    if (status != DW_OK)
        answer = dw_answer_trouble(status, &message);
    end_keeping(&keeping);
    return answer;
}

// --- the clock ---------------------------------------------------------------------------

static DwAnswer post_clock(const DwWebRequest *request)
{
    DwMessage message;
    int64_t chain = strtoll(dw_request_field(request, "chain"), NULL, 10);
    DwLiveSnapshot *snapshot = dw_live_room_look(request->site->live, dw_live_place(request));
    DwStatus status = snapshot->clock.is_sure
                          ? dw_chain_check_clock(request->book, chain, snapshot->clock.error_ppm, &message)
                          : dw_fail(&message, DW_BAD_INPUT, _("The clock error is not kept: %s"), snapshot->clock.why);
    free(snapshot);
    if (status == DW_OK)
        return dw_answer_kept(_("The clock error is kept."), dw_live_place(request) ? "/live?two=1" : "/live");
    return dw_answer_trouble(status, &message);
}

const DwWebRoute dw_routes_live_keep[] = {
    {"POST", "/live/keep", post_keep, .open = false},
    {"POST", "/live/clock", post_clock, .open = false},
    {0},
};
