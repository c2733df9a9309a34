// SPDX-License-Identifier: MIT
// The live page: what comes in now. Without its script it is a form to choose an
// input by, and each loading shows the figures of that moment.
#include "base/memory.h"
#include "base/text.h"
#include "chart/draw/number.h"
#include "procedure/job/job_sheet.h"
#include "procedure/live/live_inputs.h"
#include "procedure/live/live_json.h"
#include "web/job/job_line.h"
#include "web/live/live_room.h"
#include "web/live/pages.h"
#include "web/measure/measure_field.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LONGEST_WAIT_MS = 1000 };

// What can be stated of the input before it is started.
static const char *const asked[] = {"deck.speed", "record.tone",       "deck.class",
                                    "deck.mains", "chain.clock_error", "record.tone_tolerance"};
enum { ASKED = sizeof asked / sizeof *asked, AT_ONCE = 2 };

// --- the job of the address ----------------------------------------------------------

// Fills INPUTS with what the book knows. False when there is no such job:
// REFUSAL says so. JOB is to be cleared in either case.
static bool find_job(const DwWebRequest *request, DwJob *job, DwInputs *inputs, DwAnswer *refusal)
{
    DwMessage message;
    DwPhase phase = DW_PHASE_NONE;
    const char *number = dw_request_query(request, "job"), *as = dw_request_query(request, "as");
    dw_record_init(&job->record, &dw_job_entity);
    if (!*number)
        return true;
    DwStatus status = dw_job_find(request->book, number, job, &message);
    if (status == DW_OK && *as)
        status = dw_job_sheet_phase(as, &phase, &message);
    if (status == DW_OK)
        status = dw_job_sheet_prefill(request->book, job, phase, dw_procedure_find("speed"), inputs, &message);
    if (status != DW_OK)
        *refusal = dw_answer_refusal(status == DW_BAD_INPUT ? 404 : 500, dw_message_said(&message));
    return status == DW_OK;
}

DwLiveId dw_live_id(unsigned place, const char *name)
{
    DwLiveId id;
    if (place)
        snprintf(id.text, sizeof id.text, "%s-%u", name, place + 1);
    else
        snprintf(id.text, sizeof id.text, "%s", name);
    return id;
}

unsigned dw_live_place(const DwWebRequest *request)
{
    return strcmp(dw_request_query(request, "place"), "2") == 0;
}

// Adds KEY=VALUE to an address.
static void add_query(DwText *text, const char *key, const char *value)
{
    dw_text_add(text, "%c%s=%s", text->chars && strchr(text->chars, '?') ? '&' : '?', key, value);
}

// PATH with the procedure, job and phase of the address; the caller frees it.
static char *with_job(const DwWebRequest *request, const char *path)
{
    int64_t job = dw_request_id(request, "job");
    const char *as = dw_request_query(request, "as");
    const DwProcedure *procedure = dw_procedure_find(dw_request_query(request, "procedure"));
    char number[24];
    DwText text = {0};
    dw_text_add(&text, "%s", path);
    snprintf(number, sizeof number, "%04lld", (long long)job);
    if (procedure)
        add_query(&text, "procedure", procedure->name);
    if (job)
        add_query(&text, "job", number);
    if (job && *dw_job_line_phase(as))
        add_query(&text, "as", as);
    return dw_text_take(&text);
}

// The same, for an act of PLACE; the page stays as wide as it is.
static char *with_place(const DwWebRequest *request, const char *path, unsigned place)
{
    char *with = with_job(request, path);
    DwText text = {0};
    dw_text_add(&text, "%s", with);
    free(with);
    if (place)
        add_query(&text, "place", "2");
    if (*dw_request_query(request, "two"))
        add_query(&text, "two", "1");
    return dw_text_take(&text);
}

// --- the page ----------------------------------------------------------------------------

static void write_asked(DwPage *page, unsigned place, const DwInputs *known, size_t from, size_t to)
{
    dw_html_open(page->html, "div", "class", "fields", NULL);
    for (size_t i = from; i < to; i++) {
        const char *typed = dw_inputs_typed(known, asked[i]);
        dw_measure_field_write(page, &(DwMeasureField){.quantity = dw_quantity_find(asked[i]),
                                                       .value = typed ? typed : "",
                                                       .known = typed != NULL,
                                                       .again = place > 0});
    }
    dw_html_close(page->html, "div");
}

static void write_start(DwPage *page, unsigned place, const DwJob *job, const DwInputs *known)
{
    DwHtml *html = page->html;
    char *action = with_place(page->request, "/live/start", place);
    dw_html_open(html, "section", "class", "when-not-running", "aria-labelledby", dw_live_id(place, "start-head").text,
                 NULL);
    dw_html_element(html, "h2", _("Listen"), "id", dw_live_id(place, "start-head").text, NULL);
    dw_form_begin(page, action, false);
    dw_live_choice_write(page, place, job->record.id);
    write_asked(page, place, known, 0, AT_ONCE);
    dw_html_open(html, "details", NULL);
    dw_html_element(html, "summary", _("Class, mains and clock"), NULL);
    write_asked(page, place, known, AT_ONCE, ASKED);
    dw_html_close(html, "details");
    dw_html_open(html, "div", "class", "acts", NULL);
    dw_form_button(page, _("Start"));
    dw_html_close(html, "div");
    dw_form_end(page);
    dw_html_close(html, "section");
    free(action);
}

static void write_act(DwPage *page, unsigned place, const char *path, const char *words)
{
    char *action = with_place(page->request, path, place);
    dw_form_begin(page, action, false);
    dw_html_element(page->html, "button", words, "type", "submit", "class", "second", NULL);
    dw_form_end(page);
    free(action);
}

static void write_acts(DwPage *page, unsigned place)
{
    DwHtml *html = page->html;
    dw_html_open(html, "div", "class", "acts when-running", NULL);
    write_act(page, place, "/live/stop", _("Stop"));
    write_act(page, place, "/live/marks", _("Forget the peaks"));
    write_act(page, place, "/live/sides", _("Forget the sides"));
    dw_html_close(html, "div");
}

// What was heard before and is still held: it goes when it is dropped, or when an input is started.
static void write_held(DwPage *page, unsigned place, const DwLiveSnapshot *snapshot)
{
    DwHtml *html = page->html;
    double held_s = (double)(snapshot->position - snapshot->take_from) / snapshot->rate_hz;
    dw_html_open(html, "div", "id", dw_live_id(place, "held").text, "class", "acts when-not-running held", "hidden",
                 DW_HTML_IF(*snapshot->take_why || !(held_s > 0)), NULL);
    dw_html_open(html, "p", "id", dw_live_id(place, "held-words").text, NULL);
    dw_html_format(html, _("%.0f s are held of what was heard. They can be kept below. Start takes their place."),
                   held_s > 0 ? held_s : 0);
    dw_html_close(html, "p");
    write_act(page, place, "/live/drop", _("Drop them"));
    dw_html_close(html, "div");
}

static bool is_going(const DwLiveSnapshot *snapshot)
{
    return snapshot->state == DW_LIVE_RUNNING || snapshot->state == DW_LIVE_AWAY;
}

// What shows of an input: before the first start nothing but the list to choose from.
static const char *page_look(const DwLiveSnapshot *snapshot, bool running)
{
    bool has_turns = snapshot->raster.begun > 1 || snapshot->raster.cells > 0;
    if (running)
        return has_turns ? "live" : "live no-turns";
    if (!*snapshot->input)
        return "live not-running no-turns fresh";
    return has_turns ? "live not-running" : "live not-running no-turns";
}

// All of one input.
static void write_place(DwPage *page, unsigned place, const DwJob *job, const DwInputs *known,
                        const DwLiveSnapshot *snapshot, const DwLiveBefore *before)
{
    bool running = is_going(snapshot); // a device that is away can be stopped
    DwHtml *html = page->html;
    dw_html_open(html, "div", "id", dw_live_id(place, "live").text, "data-place", place ? "2" : "1", "class",
                 page_look(snapshot, running), NULL);
    dw_html_open(html, "p", "id", dw_live_id(place, "state").text, "class", "state", NULL);
    if (running && !*dw_live_view_state(snapshot))
        dw_html_format(html, _("Listening: %s"), snapshot->input);
    else
        dw_html_text(html, dw_live_view_state(snapshot));
    dw_html_close(html, "p");
    dw_live_view_write_speed(page, place, snapshot, before);
    write_start(page, place, job, known);
    dw_live_view_write_raster(page, place);
    dw_live_pictures_write(page, place, before);
    dw_live_view_write_rest(page, place, snapshot, before);
    dw_live_keep_write_clock(page, place, snapshot);
    write_acts(page, place);
    write_held(page, place, snapshot);
    dw_live_keep_write(page, place, snapshot);
    dw_html_element(html, "p", "", "id", dw_live_id(place, "spoken").text, "class", "spoken", "role", "status", NULL);
    dw_html_element(html, "small", "", "id", dw_live_id(place, "latency").text, NULL);
    dw_html_close(html, "div");
}

// Leads to a second input beside the first, or back.
static void write_second(DwPage *page, bool is_shown)
{
    char *path = with_job(page->request, "/live");
    DwText text = {0};
    dw_text_add(&text, "%s", path);
    if (!is_shown)
        add_query(&text, "two", "1");
    dw_html_open(page->html, "p", NULL);
    dw_html_element(page->html, "a",
                    is_shown ? _("Show the first input alone") : _("Listen to a second input beside it"), "class",
                    "alone", "href", text.chars, NULL);
    dw_html_close(page->html, "p");
    dw_text_clear(&text);
    free(path);
}

static DwAnswer write_page(const DwWebRequest *request, const DwJob *job, const DwInputs *known,
                           DwLiveSnapshot *const snapshots[DW_LIVE_PLACES])
{
    const DwLiveSnapshot *second = snapshots[1];
    bool two = *dw_request_query(request, "two") || is_going(second);
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = _("Live"),
                                                        .style = "live.css",
                                                        .first = "live-pictures.js",
                                                        .script = "live.js",
                                                        .room = DW_ROOM_LIVE,
                                                        .help = "live"});
    DwHtml *html = page->html;
    dw_html_element(html, "h1", _("Live"), NULL);
    DwLiveBefore *before = dw_live_before_read(request, job->record.id);
    if (job->record.id)
        dw_job_line_write(page, job, dw_request_query(request, "as"));
    dw_html_open(html, "div", "class", two ? "places two" : "places", NULL);
    for (unsigned place = 0; place < (two ? DW_LIVE_PLACES : 1); place++)
        write_place(page, place, job, known, snapshots[place], before);
    dw_html_close(html, "div");
    dw_live_before_free(before);
    if (!is_going(second))
        write_second(page, two);
    dw_live_said_write(html);
    return dw_page_end(page);
}

static DwAnswer get_live(const DwWebRequest *request)
{
    DwAnswer answer;
    DwJob job;
    DwInputs *known = dw_inputs_new();
    if (find_job(request, &job, known, &answer)) {
        DwLiveSnapshot *snapshots[DW_LIVE_PLACES];
        for (unsigned i = 0; i < DW_LIVE_PLACES; i++)
            snapshots[i] = dw_live_room_look(request->site->live, i);
        answer = write_page(request, &job, known, snapshots);
        for (unsigned i = 0; i < DW_LIVE_PLACES; i++)
            free(snapshots[i]);
    }
    dw_record_clear(&job.record);
    dw_inputs_free(known);
    return answer;
}

// --- acts ------------------------------------------------------------------------------------

// What the book knows of the job, except where the form says otherwise.
static DwStatus read_asked(const DwWebRequest *request, const DwInputs *known, DwInputs *inputs, DwMessage *message)
{
    const DwProcedure *speed = dw_procedure_find("speed");
    for (size_t i = 0; speed->quantities[i]; i++) {
        const char *key = speed->quantities[i], *typed = dw_inputs_typed(known, key);
        bool shown = false;
        for (size_t k = 0; k < ASKED; k++)
            shown = shown || strcmp(asked[k], key) == 0;
        const char *value = shown ? dw_request_field(request, key) : typed;
        DwStatus status = value && *value ? dw_inputs_set(inputs, key, value, message) : DW_OK;
        if (status != DW_OK)
            return status;
    }
    return DW_OK;
}

static DwStatus start(const DwWebRequest *request, const DwInputs *known, DwMessage *message)
{
    DwLiveChoice choice;
    DwInputs *inputs = dw_inputs_new();
    DwStatus status = read_asked(request, known, inputs, message);
    if (status != DW_OK) {
        dw_inputs_free(inputs);
        return status;
    }
    status = dw_live_choice_find(request, dw_request_field(request, "input"), &choice, message);
    if (status == DW_OK) {
        char *folder = dw_live_room_folder(dw_book_folder(request->book));
        status = dw_live_room_start(request->site->live, dw_live_place(request),
                                    &(DwLiveRoomStart){choice.input, choice.label, folder}, inputs, message);
        free(folder);
        if (status != DW_OK && strstr(message->text, "file:")) // where it lies is no device's business
            status = dw_fail(message, status, _("“%s” cannot be played now. Stop what is running, or choose another."),
                             choice.label);
        DwMessage unkept; // that it is not remembered stops nobody from measuring
        if (status == DW_OK && dw_live_place(request) == 0)
            dw_live_choice_remember(request, dw_request_field(request, "input"), &unkept);
    } else
        dw_inputs_free(inputs);
    dw_live_choice_clear(&choice);
    return status;
}

// The second input stays on the page when it is stopped, to be kept.
static DwAnswer go_back(const DwWebRequest *request, const char *words)
{
    char *path = with_job(request, "/live");
    DwText text = {0};
    dw_text_add(&text, "%s", path);
    if (dw_live_place(request) || *dw_request_query(request, "two"))
        add_query(&text, "two", "1");
    DwAnswer answer = dw_answer_kept(words, text.chars);
    dw_text_clear(&text);
    free(path);
    return answer;
}

static DwAnswer post_start(const DwWebRequest *request)
{
    DwAnswer answer;
    DwJob job;
    DwMessage message;
    DwInputs *known = dw_inputs_new();
    if (find_job(request, &job, known, &answer)) {
        DwStatus status = start(request, known, &message);
        if (status == DW_OK)
            answer = go_back(request, _("Listening."));
        else
            answer = dw_answer_trouble(status, &message);
    }
    dw_record_clear(&job.record);
    dw_inputs_free(known);
    return answer;
}

static DwAnswer post_stop(const DwWebRequest *request)
{
    dw_live_session_stop(dw_live_room_session(request->site->live, dw_live_place(request)));
    return go_back(request, _("Stopped. What was heard can still be kept."));
}

static DwAnswer post_drop(const DwWebRequest *request)
{
    DwMessage message;
    DwStatus status = dw_live_session_drop(dw_live_room_session(request->site->live, dw_live_place(request)), &message);
    return status == DW_OK ? go_back(request, _("Dropped.")) : dw_answer_trouble(status, &message);
}

static DwAnswer post_marks(const DwWebRequest *request)
{
    dw_live_session_reset_marks(dw_live_room_session(request->site->live, dw_live_place(request)));
    return go_back(request, _("The peaks start again."));
}

static DwAnswer post_sides(const DwWebRequest *request)
{
    dw_live_session_forget_sides(dw_live_room_session(request->site->live, dw_live_place(request)));
    return go_back(request, _("The sides start again."));
}

static void tell_ms(DwAnswer *answer, const char *name, double seconds)
{
    char text[32];
    snprintf(text, sizeof text, "%.0f", 1000 * seconds);
    dw_answer_tell(answer, name, text);
}

static DwAnswer get_state(const DwWebRequest *request)
{
    uint64_t after = strtoull(dw_request_query(request, "after"), NULL, 10);
    uint64_t row = strtoull(dw_request_query(request, "row"), NULL, 10);
    DwLiveRoomAnswer heard = dw_live_room_ask(request->site->live, dw_live_place(request), after, row, LONGEST_WAIT_MS);
    DwAnswer answer = dw_answer_bytes("application/json", heard.json, strlen(heard.json));
    tell_ms(&answer, "Deckwright-Held", heard.held_s);
    tell_ms(&answer, "Deckwright-Since", heard.since_s);
    return answer;
}

static DwAnswer get_slow(const DwWebRequest *request)
{
    uint64_t from = strtoull(dw_request_query(request, "from"), NULL, 10);
    DwLiveSnapshot *snapshot = dw_live_room_look(request->site->live, dw_live_place(request));
    char *json = dw_live_slow_json(snapshot, from);
    free(snapshot);
    return dw_answer_bytes("application/json", json, strlen(json));
}

static DwAnswer get_inputs(const DwWebRequest *request)
{
    DwLiveInputsLook look;
    DwMessage message;
    DwStatus status =
        dw_live_inputs_look(dw_live_room_inputs(request->site->live), DW_LIVE_LOOK_LEVELS, &look, &message);
    char *json = dw_live_inputs_json(&look);
    DwAnswer answer = status == DW_OK ? dw_answer_bytes("application/json", json, strlen(json))
                                      : dw_answer_refusal(500, dw_message_said(&message));
    if (status != DW_OK)
        free(json);
    dw_live_inputs_look_clear(&look);
    return answer;
}

const DwWebRoute dw_routes_live[] = {
    {"GET", "/live", get_live, .open = false},
    {"GET", "/live/inputs", get_inputs, .open = false, .waits = true},
    {"GET", "/live/slow", get_slow, .open = false},
    // Fifty devices wait here at once.
    {"GET", "/live/state", get_state, .open = false, .waits = true},
    {"POST", "/live/start", post_start, .open = false},
    {"POST", "/live/stop", post_stop, .open = false},
    {"POST", "/live/drop", post_drop, .open = false},
    {"POST", "/live/marks", post_marks, .open = false},
    {"POST", "/live/sides", post_sides, .open = false},
    {0},
};
