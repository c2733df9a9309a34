// SPDX-License-Identifier: MIT
// How a deck is set: every setting in the order of dependence, and which must be
// looked at again because another was changed.
#include "base/arm_key.h"
#include "base/memory.h"
#include "base/text.h"
#include "chart/draw/number.h"
#include "book/shop/deck.h"
#include "procedure/job/job_sheet.h"
#include "web/job/job_line.h"
#include "web/job/pages.h"
#include "web/job/setup_state.h"
#include "web/page/kept.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

// The page of one job, at one phase.
typedef struct {
    DwJob job;
    DwSetupState state;
    const char *as;  // received, or left for what was done since
    const char *arm; // whose of several it is, "" for the deck's own
    char *path;      // of the page, without the phase and the arm
} SetupView;

static bool open_page(const DwWebRequest *request, SetupView *view, DwAnswer *refusal)
{
    DwMessage message;
    const char *sent = dw_request_field(request, "arm");
    *view = (SetupView){.as = dw_request_query(request, "as"), .arm = *sent ? sent : dw_request_query(request, "arm")};
    if (*view->arm && dw_arm_key_check_name(view->arm, &message) != DW_OK) {
        *refusal = dw_answer_refusal(400, dw_message_said(&message));
        return false;
    }
    if (strcmp(view->as, "received") != 0)
        view->as = "left";
    dw_record_init(&view->job.record, &dw_job_entity);
    DwStatus status = dw_job_find(request->book, dw_request_path(request, "number"), &view->job, &message);
    if (status == DW_OK)
        status = dw_setup_state_read(request->book, view->job.record.id, view->arm, &view->state, &message);
    if (status != DW_OK) {
        dw_record_clear(&view->job.record);
        dw_setup_state_clear(&view->state);
        *refusal = dw_answer_refusal(status == DW_BAD_INPUT ? 404 : 500, dw_message_said(&message));
        return false;
    }
    view->path = dw_text_format("/job/%04lld/setup", (long long)view->job.number);
    return true;
}

static void close_page(SetupView *view)
{
    dw_setup_state_clear(&view->state);
    dw_record_clear(&view->job.record);
    free(view->path);
}

static bool is_found(const SetupView *view)
{
    return strcmp(view->as, "received") == 0;
}

// The note of setting INDEX that the page shows, or NULL.
static const DwSetUp *shown(const SetupView *view, size_t index)
{
    return is_found(view) ? view->state.found[index] : view->state.last[index];
}

static void write_mark(DwPage *page, const char *mark, const char *words)
{
    DwHtml *html = page->html;
    dw_html_open(html, "span", "class", "verdict", NULL);
    dw_html_element(html, "span", "", "class", mark, "aria-hidden", "true", NULL);
    dw_html_format(html, " %s", words);
    dw_html_close(html, "span");
}

static void write_value(DwPage *page, const DwSetUp *note)
{
    DwHtml *html = page->html;
    const char *unit = note->unit ? note->unit : "";
    dw_html_open(html, "span", "class", "set-value", NULL);
    dw_html_element(html, "span", note->value, "class", "number", NULL);
    if (*unit) {
        dw_html_text(html, dw_number_space(unit));
        dw_html_element(html, "span", dw_number_unit(unit), "class", "unit", NULL);
    }
    dw_html_close(html, "span");
}

// When, by whom and with what.
static void write_source(DwPage *page, const SetupView *view, const DwSetUp *note)
{
    DwHtml *html = page->html;
    const char *who = note->who ? note->who : "";
    dw_html_open(html, "p", "class", "quiet", NULL);
    bool as_found = !is_found(view) && note->phase == DW_PHASE_AS_RECEIVED;
    dw_html_format(html, "%s%s%s%s", dw_page_moment(note->at).text, *who ? ", " : "", who,
                   as_found ? _(", as received") : "");
    if (note->instrument && *note->instrument)
        dw_html_format(html, " · %s", note->instrument);
    if (note->remark && *note->remark)
        dw_html_format(html, " · %s", note->remark);
    dw_html_close(html, "p");
}

static void begin_note_form(DwPage *page, const SetupView *view, const char *key)
{
    dw_form_begin(page, view->path, false);
    dw_html_void(page->html, "input", "type", "hidden", "name", "key", "value", key, NULL);
    dw_html_void(page->html, "input", "type", "hidden", "name", "as", "value", view->as, NULL);
    dw_html_void(page->html, "input", "type", "hidden", "name", "arm", "value", view->arm, NULL);
}

// One touch for "I looked, and it is still so".
static void write_still_so(DwPage *page, const SetupView *view, const DwSetUp *note)
{
    char *key = dw_arm_key_plain(note->key);
    begin_note_form(page, view, key);
    free(key);
    dw_html_void(page->html, "input", "type", "hidden", "name", "value", "value", note->value, NULL);
    dw_html_void(page->html, "input", "type", "hidden", "name", "unit", "value", note->unit ? note->unit : "", NULL);
    dw_html_element(page->html, "button", _("Looked again: still so"), "type", "submit", "class", "second", NULL);
    dw_form_end(page);
}

static void write_note_form(DwPage *page, const SetupView *view, const DwGuideSetting *setting, const DwSetUp *note)
{
    DwHtml *html = page->html;
    char *help = *setting->unit ? dw_text_format(_("%s A number alone is in %s."), dw_words(setting->help),
                                                 dw_number_unit(setting->unit))
                                : dw_memory_text(dw_words(setting->help));
    if (note) {
        dw_html_open(html, "details", NULL);
        dw_html_element(html, "summary", _("Note a change"), NULL);
    }
    begin_note_form(page, view, setting->key);
    dw_html_open(html, "div", "class", "fields", NULL);
    dw_form_text(page, "value", is_found(view) ? _("Found at") : _("Set to"), "", "text", help);
    dw_form_text(page, "instrument", _("Instrument"), note ? note->instrument : "", "text", NULL);
    dw_form_text(page, "remark", _("Remark"), "", "text", NULL);
    dw_html_close(html, "div");
    dw_form_button(page, _("Keep"));
    dw_form_end(page);
    if (note)
        dw_html_close(html, "details");
    free(help);
}

static void write_procedure(DwPage *page, const SetupView *view, const DwGuideSetting *setting)
{
    if (!setting->procedure)
        return;
    char *path = dw_text_format("/measure/%s?job=%04lld&as=%s%s%s", setting->procedure, (long long)view->job.number,
                                view->as, *view->arm ? "&arm.name=" : "", view->arm);
    dw_html_element(page->html, "a", dw_words(dw_procedure_find(setting->procedure)->title), "class", "button second",
                    "href", path, NULL);
    free(path);
}

// A setting is a line with its value; what is to be looked at again stands open.
static void write_line(DwPage *page, const SetupView *view, const DwGuideSetting *setting, const DwSetUp *note,
                       bool again)
{
    DwHtml *html = page->html;
    dw_html_open(html, "summary", NULL);
    dw_html_element(html, "h2", dw_words(setting->label), NULL);
    if (note)
        write_value(page, note);
    if (again)
        write_mark(page, "mark attention", _("Look again"));
    else if (note)
        write_mark(page, "mark good", is_found(view) ? _("Noted") : _("Stands"));
    else
        write_mark(page, "mark serviceable", _("Not noted"));
    dw_html_close(html, "summary");
}

static void write_setting(DwPage *page, const SetupView *view, size_t index)
{
    DwHtml *html = page->html;
    const DwGuideSetting *setting = dw_guide_setup_at(index);
    const DwSetUp *note = shown(view, index);
    char *why = is_found(view) ? NULL : dw_setup_state_why(&view->state, index);
    dw_html_open(html, "li", "class", why ? "setting stale" : "setting", "id", setting->key, NULL);
    dw_html_open(html, "details", "open", DW_HTML_IF(why != NULL), NULL);
    write_line(page, view, setting, note, why != NULL);
    if (note)
        write_source(page, view, note);
    if (why)
        dw_html_element(html, "p", why, "class", "why", NULL);
    dw_html_open(html, "div", "class", "acts", NULL);
    if (note && !is_found(view))
        write_still_so(page, view, note);
    write_procedure(page, view, setting);
    dw_html_close(html, "div");
    write_note_form(page, view, setting, note);
    dw_html_close(html, "details");
    dw_html_close(html, "li");
    free(why);
}

// What the shop noted under names of its own.
static void write_own(DwPage *page, const SetupView *view)
{
    DwHtml *html = page->html;
    bool begun = false;
    for (size_t i = 0; i < view->state.notes.count; i++) {
        const DwSetUp *note = (const DwSetUp *)dw_records_at(&view->state.notes, i);
        char *plain = dw_arm_key_plain(note->key);
        bool listed = dw_guide_setup_find(plain) >= 0 || !dw_arm_key_belongs(note->key, view->arm);
        free(plain);
        if (listed || (note->phase == DW_PHASE_AS_RECEIVED) != is_found(view))
            continue;
        if (!begun)
            dw_html_element(html, "h2", _("Also noted"), NULL);
        begun = true;
        dw_html_element(html, "h3", note->label, NULL);
        dw_html_open(html, "p", NULL);
        write_value(page, note);
        dw_html_close(html, "p");
        write_source(page, view, note);
    }
    dw_html_open(html, "details", NULL);
    dw_html_element(html, "summary", _("Note another setting"), NULL);
    begin_note_form(page, view, "");
    dw_html_open(html, "div", "class", "fields", NULL);
    dw_form_text(page, "label", _("What it is"), "", "text", NULL);
    dw_form_text(page, "value", is_found(view) ? _("Found at") : _("Set to"), "", "text", NULL);
    dw_form_text(page, "remark", _("Remark"), "", "text", NULL);
    dw_html_close(html, "div");
    dw_form_button(page, _("Keep"));
    dw_form_end(page);
    dw_html_close(html, "details");
}

static void write_phases(DwPage *page, const SetupView *view)
{
    DwHtml *html = page->html;
    const char *of = *view->arm ? "arm=" : "";
    char *found = dw_text_format("%s?as=received%s%s%s", view->path, *of ? "&" : "", of, view->arm),
         *since = dw_text_format("%s%s%s%s", view->path, *of ? "?" : "", of, view->arm);
    dw_html_open(html, "nav", "class", "acts phases", "aria-label", _("When"), NULL);
    dw_html_element(html, "a", _("As received"), "class", "button second", "href", found, "aria-current",
                    is_found(view) ? "page" : DW_HTML_NONE, NULL);
    dw_html_element(html, "a", _("Set since"), "class", "button second", "href", since, "aria-current",
                    is_found(view) ? DW_HTML_NONE : "page", NULL);
    dw_html_close(html, "nav");
    free(found);
    free(since);
}

static void write_arm(DwPage *page, const SetupView *view, const char *arm, const char *words)
{
    char *path = dw_text_format("%s?as=%s%s%s", view->path, view->as, *arm ? "&arm=" : "", arm);
    dw_html_element(page->html, "a", words, "class", "button second", "href", path, "aria-current",
                    strcasecmp(arm, view->arm) == 0 ? "true" : DW_HTML_NONE, NULL);
    free(path);
}

// Of a deck with several arms: whose settings the page shows.
static void write_arms(DwPage *page, const SetupView *view)
{
    char *names = NULL;
    DwMessage message;
    if (!view->job.deck_id || dw_deck_arms(page->request->book, view->job.deck_id, &names, &message) != DW_OK)
        return;
    bool listed = !*view->arm;
    if (*names || !listed) {
        dw_html_open(page->html, "nav", "class", "acts phases", "aria-label", _("Which arm"), NULL);
        write_arm(page, view, "", _("The deck’s own arm"));
        for (char *rest = names, *arm; *names && (arm = strsep(&rest, "\n"));) {
            write_arm(page, view, arm, arm);
            listed = listed || strcasecmp(arm, view->arm) == 0;
        }
        if (!listed)
            write_arm(page, view, view->arm, view->arm);
        dw_html_close(page->html, "nav");
    }
    free(names);
}

static DwAnswer show_setup(const DwWebRequest *request)
{
    DwAnswer answer;
    SetupView view;
    if (!open_page(request, &view, &answer))
        return answer;
    DwPage *page =
        dw_page_begin(request, &(DwPageHead){.title = _("Set-up"), .style = "measure.css", .room = DW_ROOM_BOARD});
    DwHtml *html = page->html;
    size_t stale = dw_setup_state_stale(&view.state);
    dw_html_element(html, "h1", _("How the deck is set"), NULL);
    dw_job_line_write(page, &view.job, is_found(&view) ? "received" : "");
    write_arms(page, &view);
    write_phases(page, &view);
    dw_html_element(html, "p", _("In the order in which one setting affects the next."), "class", "quiet", NULL);
    if (stale && !is_found(&view)) {
        char *words = dw_text_format(
            dw_words_count("%zu setting must be looked at again.", "%zu settings must be looked at again.", stale),
            stale);
        dw_page_remark(page, words);
        free(words);
    }
    dw_html_open(html, "ol", "class", "settings", NULL);
    for (size_t i = 0; i < dw_guide_setup_count(); i++)
        write_setting(page, &view, i);
    dw_html_close(html, "ol");
    write_own(page, &view);
    answer = dw_page_end(page);
    close_page(&view);
    return answer;
}

// Parts "17,2 mm" into number and unit; words stay as they are.
static void take_value(DwSetUp *note, const char *typed, const char *unit, const DwGuideSetting *setting)
{
    double number;
    const char *end = dw_text_number(typed, &number);
    const char *rest = end ? end + strspn(end, " ") : NULL;
    bool with_unit = end && *rest && dw_unit_any(rest);
    if (*unit || !end || (*rest && !with_unit)) {
        note->value = dw_memory_text(typed);
        note->unit = dw_memory_text(unit);
        return;
    }
    note->value = dw_text_format("%.*s", (int)(end - typed), typed);
    note->unit = dw_memory_text(with_unit ? rest : setting ? setting->unit : "");
}

// A key of the shop's own from its label: what is no letter or digit becomes '_'.
static char *own_key(const char *label)
{
    char *key = dw_text_format("own.%s", label);
    for (char *at = key + 4; *at; at++)
        if (strchr(" .,;:=\"'<>&/\\\t\r\n", *at))
            *at = '_';
    return key;
}

static DwStatus note_setting(const DwWebRequest *request, const SetupView *view, DwMessage *message)
{
    const char *key = dw_request_field(request, "key"), *label = dw_request_field(request, "label");
    int index = dw_guide_setup_find(key);
    const DwGuideSetting *setting = index >= 0 ? dw_guide_setup_at((size_t)index) : NULL;
    if (*key && !setting)
        return dw_fail(message, DW_BAD_INPUT, "%s", _("There is no such setting."));
    if (!setting && !*label)
        return dw_fail(message, DW_BAD_INPUT, "%s", _("Say what the setting is called."));
    if (!*dw_request_field(request, "value"))
        return dw_fail(message, DW_BAD_INPUT, "%s", _("Say what it is set to."));
    DwSetUp note;
    DwPhase phase;
    DwStatus status = dw_job_sheet_phase(dw_request_field(request, "as"), &phase, message);
    if (status != DW_OK)
        return status;
    dw_record_init(&note.record, &dw_set_up_entity);
    note.job_id = view->job.record.id;
    note.phase = (int)phase;
    const char *arm = setting && dw_arm_key_is_arms(key) ? view->arm : "";
    note.key = setting ? dw_arm_key_join(key, arm) : own_key(label);
    note.label = dw_arm_key_label(setting ? setting->label : label, arm);
    take_value(&note, dw_request_field(request, "value"), dw_request_field(request, "unit"), setting);
    note.instrument = dw_memory_text(dw_request_field(request, "instrument"));
    note.remark = dw_memory_text(dw_request_field(request, "remark"));
    status = dw_set_up_note(request->book, &note, message);
    dw_record_clear(&note.record);
    return status;
}

static DwAnswer post_setup(const DwWebRequest *request)
{
    DwAnswer answer;
    SetupView view;
    DwMessage message;
    if (!open_page(request, &view, &answer))
        return answer;
    DwStatus status = note_setting(request, &view, &message);
    if (status == DW_OK) {
        bool found = strcmp(dw_request_field(request, "as"), "received") == 0;
        const char *as = found ? "?as=received" : *view.arm ? "?as=left" : "";
        char *path = dw_text_format("%s%s%s%s", view.path, as, *view.arm ? "&arm=" : "", view.arm);
        answer = dw_kept_answer(request, &(DwKept){.path = path, .anchor = dw_request_field(request, "key")});
        free(path);
    } else
        answer = dw_answer_trouble(status, &message);
    close_page(&view);
    return answer;
}

const DwWebRoute dw_routes_setup[] = {
    {"GET", "/job/:number/setup", show_setup, false},
    {"POST", "/job/:number/setup", post_setup, false},
    {0},
};
