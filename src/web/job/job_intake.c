// SPDX-License-Identifier: MIT
// The job's page: what was received and what the owner said, and what is dangerous about it.
#include "base/memory.h"
#include "base/text.h"
#include "book/job/verdict.h"
#include "book/job/visit.h"
#include "web/job/job_page.h"
#include "web/page/page.h"
#include "web/record/record_form.h"
#include "web/server/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const usual[] = {
    N_("cover"),        N_("mat"),           N_("headshell"),      N_("cartridge"),
    N_("stylus guard"), N_("counterweight"), N_("centre adaptor"), N_("transit screws"),
    N_("feet"),         N_("power supply"),  N_("signal cable"),   N_("owner's manual"),
    N_("box"),
};

const char *dw_job_accessory_at(size_t index)
{
    return index < sizeof usual / sizeof *usual ? usual[index] : NULL;
}

// The fields KEYS of RECORD under a fold.
static void fold_change(DwJobView *view, const char *id, const char *words, const DwRecord *record, const char *keys)
{
    dw_job_section_fold(view, id, words, "", false);
    dw_record_form_change(view->page, record, keys);
    dw_job_section_unfold(view);
}

static void write_owner_and_deck(DwJobView *view)
{
    DwHtml *html = view->page->html;
    dw_job_section_fold(view, NULL, _("Owner and deck"), "", false);
    dw_html_element(html, "h3", _("Owner"), NULL);
    dw_record_form_change(view->page, &view->owner.record, "name|phone|email|route|may_collect|address");
    dw_html_element(html, "h3", _("Deck"), NULL);
    if (view->deck.record.id)
        dw_record_form_change(view->page, &view->deck.record,
                              "make|model|variant|serial|made_year|drive|operation|class|speeds|motor|rated_voltage_v|"
                              "rated_frequency_hz|plug|pulley_marking|parts_present|supply_as_left");
    dw_record_form_change(view->page, &view->job.record, "customer_id|deck_id|warranty_of_id");
    dw_job_section_unfold(view);
}

static void take_in(DwJobView *view)
{
    dw_job_section_form(view, "take-in");
    dw_form_button(view->page, _("Take the deck in"));
    dw_form_end(view->page);
}

// Whether the list has NAME as received.
static bool is_received(const DwRecords *list, const char *name)
{
    for (size_t i = 0; i < list->count; i++) {
        const DwAccessory *accessory = (const DwAccessory *)dw_records_at(list, i);
        if (accessory->received && strcmp(accessory->name, name) == 0)
            return true;
    }
    return false;
}

// The usual things as ticks: what is ticked was received, and joins the list below.
static void write_accessories(DwJobView *view)
{
    DwHtml *html = view->page->html;
    DwRecords list = {0};
    dw_record_list(view->request->book, &dw_accessory_entity, "intake_id", view->intake.record.id, &list, NULL);
    dw_html_element(html, "h3", _("Accessories"), "id", "accessories", NULL);
    char *action = dw_text_format("%s/accessories", view->path);
    dw_form_begin(view->page, action, true);
    dw_html_open(html, "div", "class", "ticks", NULL);
    for (size_t i = 0; i < sizeof usual / sizeof *usual; i++) {
        char name[16];
        snprintf(name, sizeof name, "usual%zu", i);
        dw_form_tick(view->page, name, dw_words(usual[i]), is_received(&list, usual[i]));
    }
    dw_html_close(html, "div");
    dw_form_button(view->page, _("Keep the list"));
    dw_form_end(view->page);
    dw_job_section_fold(view, NULL, _("The list, and another accessory"), "",
                        dw_job_section_opens(view, &dw_accessory_entity));
    dw_record_form_list(view->page, &list, "received|note", dw_record_form_opened(view->request, &dw_accessory_entity),
                        view->path);
    dw_record_form_fold(view->page, &dw_accessory_entity, "intake_id", view->intake.record.id, NULL,
                        _("Another accessory"));
    dw_job_section_unfold(view);
    dw_records_clear(&list);
    free(action);
}

static size_t marks_in(const DwRecords *marks, int zone)
{
    size_t count = 0;
    for (size_t i = 0; i < marks->count; i++)
        count += ((const DwMark *)dw_records_at(marks, i))->zone == zone;
    return count;
}

static void write_zone(DwJobView *view, const DwRecords *marks, const DwField *zones, int zone)
{
    DwHtml *html = view->page->html;
    char *word = dw_field_word(zones, zone),
         *link = dw_text_format("%s?at=intake&zone=%d#mark-here", view->path, zone + 1);
    char *place = dw_text_format("zone z%d", zone);
    dw_html_open(html, "li", "class", place, NULL);
    dw_html_open(html, "a", "href", link, NULL);
    dw_html_text(html, dw_words(word));
    size_t count = marks_in(marks, zone);
    if (count) {
        dw_html_open(html, "small", NULL);
        dw_html_format(html, dw_words_count("%zu mark", "%zu marks", count), count);
        dw_html_close(html, "small");
    }
    dw_html_close(html, "a");
    dw_html_close(html, "li");
    free(word);
    free(link);
    free(place);
}

// The form for a mark in the zone that was touched.
static void write_mark_form(DwJobView *view, const DwField *zones, int zone)
{
    DwMark mark;
    dw_record_init(&mark.record, &dw_mark_entity);
    mark.zone = zone;
    // Where in the place it was touched.
    dw_record_set(view->request->book, &mark.record, "across", dw_request_query(view->request, "across"), NULL);
    dw_record_set(view->request->book, &mark.record, "along", dw_request_query(view->request, "along"), NULL);
    char *word = dw_field_word(zones, zone);
    dw_html_open(view->page->html, "div", "id", "mark-here", "class", "entry open", NULL);
    dw_html_open(view->page->html, "h4", NULL);
    dw_html_format(view->page->html, _("A mark: %s"), dw_words(word));
    dw_html_close(view->page->html, "h4");
    dw_record_form_add(view->page, &mark.record, "intake_id", view->intake.record.id, "kind|note|across|along|zone",
                       _("Add the mark"));
    dw_html_close(view->page->html, "div");
    free(word);
    dw_record_clear(&mark.record);
}

// Takes the word of ZONE into WORD, which is "" past the last.
static const char *zone_word(const DwField *zones, int zone, char word[40])
{
    char *text = dw_field_word(zones, zone);
    snprintf(word, 40, "%s", text);
    free(text);
    return word;
}

// The condition map: the deck in plan; touching a place adds a mark there.
static void write_marks(DwJobView *view)
{
    DwHtml *html = view->page->html;
    char word[40];
    const DwField *zones = dw_field_find(&dw_mark_entity, "zone");
    DwRecords marks = {0};
    dw_record_list(view->request->book, &dw_mark_entity, "intake_id", view->intake.record.id, &marks, NULL);
    int zone = (int)dw_request_id(view->request, "zone"), count = 0;
    while (*zone_word(zones, count, word))
        count++;
    bool touched = zone >= 1 && zone <= count;
    char *holds = marks.count ? dw_text_format(dw_words_count("%zu mark", "%zu marks", marks.count), marks.count)
                              : dw_text_format("%s", _("none noted"));
    dw_job_section_fold(view, "marks", _("Condition map"), holds,
                        touched || dw_job_section_opens(view, &dw_mark_entity));
    if (touched)
        write_mark_form(view, zones, zone - 1);
    dw_html_element(
        html, "p",
        _("Touch where a mark is. The receipt says that none was found once the list is said to be correct."), "class",
        "quiet", NULL);
    dw_job_deck_write(view);
    dw_html_open(html, "details", NULL);
    dw_html_element(html, "summary", _("The places by name"), NULL);
    dw_html_open(html, "ul", "class", "plan", NULL);
    for (int i = 0; i < count; i++)
        write_zone(view, &marks, zones, i);
    dw_html_close(html, "ul");
    dw_html_close(html, "details");
    dw_record_form_list(view->page, &marks, "note|across|along", dw_record_form_opened(view->request, &dw_mark_entity),
                        view->path);
    dw_job_section_unfold(view);
    dw_records_clear(&marks);
    free(holds);
}

static void write_received(DwJobView *view)
{
    const DwRecord *intake = &view->intake.record;
    char id[40];
    snprintf(id, sizeof id, "intake-%lld", (long long)intake->id);
    dw_html_open(view->page->html, "div", "id", id, NULL);
    dw_record_form_change(view->page, intake, "words");
    write_accessories(view);
    dw_record_form_change(view->page, intake, "none_other_received|list_correct|terms_accepted");
    write_marks(view);
    fold_change(view, NULL, _("More of what the owner said"), intake,
                "since_when|worked_last|changed_lately|system|wish|estimate_charge_told|storage_charge_told");
    fold_change(view, NULL, _("What may be spent"), intake, "ceiling|contact_before");
    fold_change(view, NULL, _("Risks"), intake,
                "modified_mains|stylus_damaged|courier_damage|irreplaceable|sentimental|dispute|smell|earlier_repair|"
                "prior_repairer");
    fold_change(view, NULL, _("How it arrived"), intake, "received_by|arrived|parcel|at");
    dw_html_close(view->page->html, "div");
}

static void write_job(DwJobView *view)
{
    char id[40];
    snprintf(id, sizeof id, "job-%lld", (long long)view->job.record.id);
    dw_html_open(view->page->html, "div", "id", id, NULL);
    dw_record_form_change(view->page, &view->job.record, "fault|place|promised_on");
    fold_change(view, NULL, _("More of the job"), &view->job.record, "kind|priority|screws_place|technician");
    dw_html_close(view->page->html, "div");
}

// The other decks that came in together with this one, and the way to take in one more.
static void write_visit(DwJobView *view)
{
    DwRecords jobs = {0};
    DwHtml *html = view->page->html;
    if (dw_visit_jobs(view->request->book, view->job.record.id, &jobs, NULL) != DW_OK)
        return;
    if (jobs.count > 1)
        dw_html_element(html, "h3", _("Came in together with it"), "id", "visit", NULL);
    for (size_t i = 0; i < jobs.count; i++) {
        const DwJob *job = (const DwJob *)dw_records_at(&jobs, i);
        char *path = dw_text_format("/job/%04lld", (long long)job->number);
        if (job->record.id != view->job.record.id) {
            dw_html_open(html, "p", NULL);
            dw_html_open(html, "a", "href", path, NULL);
            dw_html_format(html, "%04lld %s", (long long)job->number, job->fault ? job->fault : "");
            dw_html_close(html, "a");
            dw_html_format(html, ", %s", dw_words(dw_job_state_word((DwJobState)job->state)));
            dw_html_close(html, "p");
        }
        free(path);
    }
    dw_records_clear(&jobs);
    char *another = dw_text_format("/job/new?with=%04lld", (long long)view->job.number);
    dw_page_link(view->page, another, _("Another deck of this visit"));
    free(another);
}

void dw_job_page_intake(DwJobView *view)
{
    dw_job_section_begin(view, DW_STATION_INTAKE);
    // While a place is marked, the rest of the intake waits: a page is short.
    if (view->intake.record.id && dw_request_id(view->request, "zone")) {
        char *path = dw_job_part_path(view, DW_STATION_INTAKE);
        write_marks(view);
        dw_page_link(view->page, path, _("All of the intake"));
        free(path);
        dw_job_section_end(view);
        return;
    }
    if (view->intake.record.id)
        write_received(view);
    else
        take_in(view);
    write_job(view);
    write_owner_and_deck(view);
    write_visit(view);
    dw_job_section_end(view);
}

static bool says(const char *text)
{
    return text && *text;
}

static void write_cautions(DwJobView *view)
{
    const DwIntake *intake = &view->intake;
    dw_page_caution(view->page,
                    _("Unplug before opening. Capacitors may hold their charge. Work on mains parts is for licensed "
                      "practice under the local code."));
    if (intake->modified_mains)
        dw_page_caution(view->page,
                        _("The mains wiring was altered: do not plug it in before it was checked and tested."));
    if (says(intake->smell)) {
        char *words = dw_text_format(_("A smell was noted on arrival (%s): look for its source before any power."),
                                     intake->smell);
        dw_page_caution(view->page, words);
        free(words);
    }
    if (intake->stylus_damaged)
        dw_page_caution(view->page,
                        _("The stylus is bent or missing: play no record of value, and take the guard's loss down."));
    if (intake->courier_damage)
        dw_page_caution(view->page, _("Transport damage is suspected: keep and photograph all packaging."));
    if (intake->dispute)
        dw_page_caution(view->page, _("A dispute is pending: photograph and measure before anything is moved."));
    if (intake->irreplaceable)
        dw_page_caution(view->page, _("Rare or irreplaceable: ask before anything that cannot be reversed."));
}

static void write_acknowledging(DwJobView *view)
{
    DwHtml *html = view->page->html;
    dw_html_open(html, "div", "class", "unsafe-box", NULL);
    dw_html_element(html, "h3", _("It leaves unsafe, if at all, only with a word"), NULL);
    dw_html_element(
        html, "p",
        _("Make it safe and give the item another verdict. Or write down who was told, and what: without that "
          "the job does not become ready."),
        NULL);
    dw_job_section_form(view, "acknowledge");
    dw_form_text(view->page, "person", _("Who was told"), view->owner.name, "text", NULL);
    dw_form_area(view->page, "words", _("What was said"), "", NULL);
    dw_form_button(view->page, _("Write it down"));
    dw_form_end(view->page);
    dw_html_close(html, "div");
}

void dw_job_page_safety(DwJobView *view)
{
    DwItemVerdict verdict;
    dw_job_section_begin(view, DW_STATION_SAFETY);
    write_cautions(view);
    if (view->stations[DW_STATION_SAFETY].state == DW_STATION_STALE)
        write_acknowledging(view);
    dw_record_init(&verdict.record, &dw_verdict_entity);
    verdict.job_id = view->job.record.id;
    verdict.aspect = DW_ASPECT_USE;
    verdict.item = dw_memory_text(view->facts.use_tested ? "" : _("Mains lead, plug and earth"));
    verdict.phase = view->job.state < DW_JOB_VERIFYING ? DW_PHASE_AS_RECEIVED : DW_PHASE_AS_LEFT;
    dw_job_section_fold(view, NULL, _("Judge an item: is it safe to use?"), "", !view->facts.use_tested);
    dw_record_form_add(view->page, &verdict.record, "job_id", view->job.record.id,
                       "item|grade|evidence|action|phase|aspect", _("Give the verdict"));
    dw_job_section_unfold(view);
    dw_record_clear(&verdict.record);
    dw_job_section_end(view);
}
