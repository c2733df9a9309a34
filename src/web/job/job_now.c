// SPDX-License-Identifier: MIT
// The job's page: what to do now, before all else, with the one touch that does
// it, and where the job's papers say that it stands by now.
#include "base/memory.h"
#include "base/text.h"
#include "book/entry/work_move.h"
#include "web/job/job_page.h"
#include "web/server/words.h"

#include <stdlib.h>
#include <string.h>

// What the banner says and offers.
typedef struct {
    const char *title;
    char *words; // freed in the end; NULL for none
} Now;

static void write_link(DwJobView *view, const char *look, const char *words, const char *rest)
{
    char *path = dw_text_format("%s%s", view->path, rest);
    dw_html_element(view->page->html, "a", words, "href", path, "class", look, NULL);
    free(path);
}

// A link to where something is measured, with this job and PHASE.
static void write_measure(DwJobView *view, const char *look, const char *place, const char *as, const char *words)
{
    char *path =
        dw_text_format("/%s%cjob=%04lld&as=%s", place, strchr(place, '?') ? '&' : '?', (long long)view->job.number, as);
    dw_html_element(view->page->html, "a", words, "href", path, "class", look, NULL);
    free(path);
}

// A button that does ACT of the job; NAME with ID goes along, where there is one.
static void write_act(DwJobView *view, const char *act, const char *name, long long id, const char *words)
{
    dw_job_section_form(view, act);
    if (name) {
        char *value = dw_text_format("%lld", id);
        dw_html_void(view->page->html, "input", "type", "hidden", "name", name, "value", value, NULL);
        free(value);
    }
    dw_html_element(view->page->html, "button", words, "type", "submit", NULL);
    dw_form_end(view->page);
}

// Ticks KEYS of the intake, "a" or "a|b", in one touch.
static void write_tick(DwJobView *view, const char *const keys[2], const char *words)
{
    char *action = dw_text_format("/record/intake/%lld", (long long)view->intake.record.id);
    dw_form_begin(view->page, action, false);
    // Back to what is to be done then, which may be another part.
    dw_html_void(view->page->html, "input", "type", "hidden", "name", "back", "value", view->path, NULL);
    for (int i = 0; i < 2 && keys[i]; i++)
        dw_html_void(view->page->html, "input", "type", "hidden", "name", keys[i], "value", "yes", NULL);
    dw_html_element(view->page->html, "button", words, "type", "submit", NULL);
    dw_form_end(view->page);
    free(action);
}

static Now say_intake(const DwJobView *view)
{
    const DwWorkFacts *facts = &view->facts;
    if (!facts->intake)
        return (Now){_("Now: take the deck in"), NULL};
    if (!facts->words)
        return (Now){_("Now: write down the owner's words"), NULL};
    if (!facts->list)
        return (Now){_("Now: tick what came with it"), NULL};
    return (Now){_("Now: have the owner agree to the list"), NULL};
}

static void act_intake(DwJobView *view)
{
    const DwWorkFacts *facts = &view->facts;
    static const char *const list[2] = {"list_correct", NULL}, *const none[2] = {"none_other_received", NULL};
    if (!facts->intake)
        write_act(view, "take-in", NULL, 0, _("Take the deck in"));
    else if (facts->words && !facts->list)
        write_tick(view, none, _("Nothing else came with it"));
    else if (facts->words)
        write_tick(view, list, _("The list is correct"));
    if (facts->intake && facts->list && !facts->signed_in)
        write_link(view, "button second", _("Show and sign"), "/sign?at=intake");
}

static Now say_measure(const DwJobView *view, bool left)
{
    const DwJobNumbers *numbers = &view->numbers;
    if (!left || !numbers->repeat_id)
        return (Now){left ? _("Now: measure as left") : _("Now: measure as received"), NULL};
    char day[DW_DATE_SIZE];
    dw_moment_day(numbers->repeat_at, day);
    char *record =
        *numbers->repeat_record ? dw_text_format(_(" with “%s”"), numbers->repeat_record) : dw_memory_text("");
    char *chain =
        *numbers->repeat_chain ? dw_text_format(_(", chain “%s”"), numbers->repeat_chain) : dw_memory_text("");
    char *words = dw_text_format(_("%s%s%s, as on %s."), numbers->repeat_title, record, chain, day);
    free(record);
    free(chain);
    return (Now){_("Now: measure as left, the same way"), words};
}

static void act_measure(DwJobView *view, bool left)
{
    const DwJobNumbers *numbers = &view->numbers;
    const char *as = left ? "left" : "received";
    if (left && numbers->repeat_id) {
        char *same = dw_text_format("measure/%s?same=%lld", numbers->repeat_procedure, (long long)numbers->repeat_id);
        write_measure(view, "button", same, as, _("The same way"));
        free(same);
        write_measure(view, "button second", "live", as, _("Listen now"));
        return;
    }
    write_measure(view, "button", "live", as, _("Listen now"));
    write_measure(view, "button second", "measure/speed", as, _("From a recording"));
    write_measure(view, "button second", "measure", as, _("Something else"));
}

static Now say_estimate(const DwJobView *view)
{
    const DwWorkFacts *facts = &view->facts;
    if (facts->estimate == DW_LINE_DRAFT)
        return (Now){view->numbers.estimate_lines ? _("Now: give the estimate out")
                                                  : _("Now: write the estimate's lines"),
                     NULL};
    if (facts->estimate == DW_LINE_ISSUED)
        return (Now){_("Now: wait for the owner's answer"), NULL};
    return (Now){_("Now: make an estimate"), NULL};
}

static void act_estimate(DwJobView *view)
{
    const DwWorkFacts *facts = &view->facts;
    if (facts->estimate == DW_LINE_DRAFT && view->numbers.estimate_lines)
        write_act(view, "issue-estimate", "estimate", (long long)view->numbers.estimate_id, _("Give it out"));
    else if (facts->estimate == DW_LINE_ISSUED)
        write_link(view, "button", _("Write down the answer"), "?at=estimate&answer=yes#answer");
    else if (facts->estimate != DW_LINE_DRAFT)
        write_act(view, "estimate", NULL, 0, _("Start an estimate"));
}

static Now say_work(const DwJobView *view)
{
    if (!view->numbers.operations)
        return (Now){_("Now: note the work"), NULL};
    return (Now){_("Now: do the work"), dw_memory_text(view->numbers.next_operation)};
}

static void act_work(DwJobView *view)
{
    if (view->numbers.next_operation_id)
        write_act(view, "done", "operation", (long long)view->numbers.next_operation_id, _("Done now"));
    else if (view->numbers.estimate_lines)
        write_act(view, "plan", NULL, 0, _("Put the agreed work on the bench"));
}

static Now say_papers(const DwJobView *view)
{
    if (!view->numbers.invoice_id)
        return (Now){_("Now: write the invoice"), NULL};
    return (Now){_("Now: issue the invoice"), NULL};
}

static void act_papers(DwJobView *view)
{
    if (!view->numbers.invoice_id) {
        dw_job_section_form(view, "invoice");
        dw_html_void(view->page->html, "input", "type", "hidden", "name", "tier", "value",
                     view->facts.estimate == DW_LINE_ACCEPTED ? "recommended" : "", NULL);
        dw_html_element(view->page->html, "button", _("Start it"), "type", "submit", NULL);
        dw_form_end(view->page);
    } else if (view->numbers.invoice_draft)
        write_act(view, "issue-invoice", "invoice", (long long)view->numbers.invoice_id, _("Issue it"));
}

static Now say_end(const DwJobView *view)
{
    if (view->job.state >= DW_JOB_HANDED_OVER)
        return (Now){view->job.state == DW_JOB_DECLINED ? _("Now: give it back") : _("It is done and gone"), NULL};
    if (view->facts.unpaid)
        return (Now){_("Now: have it paid"), NULL};
    return (Now){view->facts.signed_out ? _("Now: hand it over") : _("Now: have the hand-over signed"), NULL};
}

static void act_end(DwJobView *view)
{
    if (view->job.state == DW_JOB_HANDED_OVER || view->job.state == DW_JOB_DISPOSED) {
        write_link(view, "button second", _("Papers"), "/papers");
        return;
    }
    if (view->facts.unpaid)
        write_act(view, "pay", "invoice", (long long)view->numbers.invoice_id, _("It is paid"));
    if (!view->facts.signed_out)
        write_link(view, view->facts.unpaid ? "button second" : "button", _("Show and sign"), "/sign?at=handover");
    write_link(view, "button second", _("Papers"), "/papers");
}

static Now say(const DwJobView *view, DwStationKind now)
{
    switch (now) {
    case DW_STATION_INTAKE:
        return say_intake(view);
    case DW_STATION_SAFETY:
        return (Now){view->facts.unsafe_open ? _("Now: make it safe") : _("Now: judge whether it is safe to use"),
                     NULL};
    case DW_STATION_AS_RECEIVED:
        return say_measure(view, false);
    case DW_STATION_FINDINGS:
        return (Now){_("Now: find what is wrong"), NULL};
    case DW_STATION_ESTIMATE:
        return say_estimate(view);
    case DW_STATION_WORK:
        return say_work(view);
    case DW_STATION_SET_UP:
        return (Now){_("Now: set it up"), NULL};
    case DW_STATION_AS_LEFT:
        return say_measure(view, true);
    case DW_STATION_PAPERS:
        return say_papers(view);
    case DW_STATION_COUNT:
        break;
    }
    return say_end(view);
}

static void act(DwJobView *view, DwStationKind now)
{
    switch (now) {
    case DW_STATION_INTAKE:
        act_intake(view);
        return;
    case DW_STATION_SAFETY:
        return;
    case DW_STATION_AS_RECEIVED:
        act_measure(view, false);
        return;
    case DW_STATION_FINDINGS:
        write_link(view, "button", _("What is wrong with it?"), "/guide");
        return;
    case DW_STATION_ESTIMATE:
        act_estimate(view);
        return;
    case DW_STATION_WORK:
        act_work(view);
        return;
    case DW_STATION_SET_UP:
        write_link(view, "button", _("Set up, step by step"), "/setup");
        return;
    case DW_STATION_AS_LEFT:
        act_measure(view, true);
        return;
    case DW_STATION_PAPERS:
        act_papers(view);
        return;
    case DW_STATION_COUNT:
        act_end(view);
        return;
    }
}

// Where the papers say that it stands by now, in one touch.
static void write_move(DwJobView *view)
{
    DwJobState next;
    const char *why;
    if (!dw_work_move_propose(&view->facts, (DwJobState)view->job.state, &next, &why))
        return;
    DwHtml *html = view->page->html;
    const char *word = dw_job_state_word(next);
    char *button = dw_text_format(_("Move it to “%s”"), dw_words(word));
    dw_html_open(html, "div", "class", "proposal", NULL);
    dw_html_element(html, "p", dw_words(why), NULL);
    dw_job_section_form(view, "move");
    dw_html_element(html, "button", button, "type", "submit", "name", "state", "value", word, "class", "second", NULL);
    dw_form_end(view->page);
    dw_html_close(html, "div");
    free(button);
}

void dw_job_now_write(DwJobView *view)
{
    DwHtml *html = view->page->html;
    bool gone = view->job.state >= DW_JOB_HANDED_OVER; // or declined: nothing is left to do to it
    DwStationKind now = gone ? DW_STATION_COUNT : dw_work_line_now(view->stations);
    Now what = say(view, now);
    int part = now == DW_STATION_COUNT ? DW_JOB_PART_STATE : (int)now;
    dw_html_open(html, "section", "class", "now", "aria-labelledby", "now-title", NULL);
    dw_html_open(html, "div", "class", "what", NULL);
    dw_html_element(html, "h2", what.title, "id", "now-title", NULL);
    if (what.words)
        dw_html_element(html, "p", what.words, NULL);
    dw_html_close(html, "div");
    dw_html_open(html, "div", "class", "acts", NULL);
    act(view, now);
    if (view->open != part) {
        char *path = dw_job_part_path(view, part);
        dw_html_element(html, "a", dw_job_part_name(part), "href", path, "class", "button second", NULL);
        free(path);
    }
    dw_html_close(html, "div");
    write_move(view);
    dw_html_close(html, "section");
    free(what.words);
}
