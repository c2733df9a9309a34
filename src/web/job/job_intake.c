// SPDX-License-Identifier: MIT
// The job's page: what was received and what the owner said, and what is dangerous about it.
#include "base/text.h"
#include "book/job/verdict.h"
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
    N_("feet"),         N_("power supply"),  N_("signal cable"),   N_("manual"),
    N_("box"),
};

const char *dw_job_accessory_at(size_t index)
{
    return index < sizeof usual / sizeof *usual ? usual[index] : NULL;
}

static void write_owner_and_deck(DwJobPage *page)
{
    DwHtml *html = page->request->html;
    dw_html_open(html, "details", "class", "add", NULL);
    dw_html_element(html, "summary", _("Owner and deck"), NULL);
    dw_html_element(html, "h3", _("Owner"), NULL);
    dw_record_form_change(page->request, &page->owner.record, "name|phone|email|route|may_collect|address");
    dw_html_element(html, "h3", _("Deck"), NULL);
    if (page->deck.record.id)
        dw_record_form_change(page->request, &page->deck.record,
                              "make|model|variant|serial|made_year|drive|operation|class|speeds|motor|rated_voltage_v|"
                              "rated_frequency_hz|plug|pulley_marking|parts_present|supply_as_left");
    dw_record_form_change(page->request, &page->job.record, "customer_id|deck_id|warranty_of_id");
    dw_html_close(html, "details");
}

static void take_in(DwJobPage *page)
{
    dw_job_section_form(page, "take-in");
    dw_form_button(page->request, _("Take the deck in"));
    dw_form_end(page->request);
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
static void write_accessories(DwJobPage *page)
{
    DwHtml *html = page->request->html;
    DwRecords list = {0};
    dw_record_list(page->request->book, &dw_accessory_entity, "intake_id", page->intake.record.id, &list, NULL);
    dw_html_element(html, "h3", _("Accessories"), "id", "accessories", NULL);
    char *action = dw_text_format("%s/accessories", page->path);
    dw_form_begin(page->request, action, true);
    dw_html_open(html, "div", "class", "ticks", NULL);
    for (size_t i = 0; i < sizeof usual / sizeof *usual; i++) {
        char name[16];
        snprintf(name, sizeof name, "usual%zu", i);
        dw_form_tick(page->request, name, dw_words(usual[i]), is_received(&list, usual[i]));
    }
    dw_html_close(html, "div");
    dw_form_button(page->request, _("Keep the list"));
    dw_form_end(page->request);
    dw_record_form_list(page->request, &list, "received|note",
                        dw_record_form_opened(page->request, &dw_accessory_entity), page->path);
    dw_record_form_fold(page->request, &dw_accessory_entity, "intake_id", page->intake.record.id, NULL,
                        _("Another accessory"));
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

static void write_zone(DwJobPage *page, const DwRecords *marks, const DwField *zones, int zone)
{
    DwHtml *html = page->request->html;
    char *word = dw_field_word(zones, zone), *link = dw_text_format("%s?zone=%d#mark-here", page->path, zone + 1);
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
static void write_mark_form(DwJobPage *page, const DwField *zones, int zone)
{
    DwMark mark;
    dw_record_init(&mark.record, &dw_mark_entity);
    mark.zone = zone;
    char *word = dw_field_word(zones, zone);
    dw_html_open(page->request->html, "div", "id", "mark-here", "class", "entry open", NULL);
    dw_html_open(page->request->html, "h4", NULL);
    dw_html_format(page->request->html, _("A mark: %s"), dw_words(word));
    dw_html_close(page->request->html, "h4");
    dw_record_form_add(page->request, &mark.record, "intake_id", page->intake.record.id, "kind|note|across|along|zone",
                       _("Add the mark"));
    dw_html_close(page->request->html, "div");
    free(word);
    dw_record_clear(&mark.record);
}

// The condition map: the deck's zones laid out as it lies; touching one adds a mark there.
static void write_marks(DwJobPage *page)
{
    DwHtml *html = page->request->html;
    const DwField *zones = dw_field_find(&dw_mark_entity, "zone");
    DwRecords marks = {0};
    dw_record_list(page->request->book, &dw_mark_entity, "intake_id", page->intake.record.id, &marks, NULL);
    dw_html_element(html, "h3", _("Condition map"), "id", "marks", NULL);
    dw_html_element(
        html, "p",
        _("Touch where a mark is. That none was found stands on the receipt once the list is said to be correct."),
        "class", "quiet", NULL);
    dw_html_open(html, "ul", "class", "plan", NULL);
    int count = 0;
    for (const char *at = zones->choices; at; at = strchr(at, '|') ? strchr(at, '|') + 1 : NULL)
        write_zone(page, &marks, zones, count++);
    dw_html_close(html, "ul");
    int zone = atoi(dw_request_query(page->request, "zone"));
    if (zone >= 1 && zone <= count)
        write_mark_form(page, zones, zone - 1);
    dw_record_form_list(page->request, &marks, "note|across|along",
                        dw_record_form_opened(page->request, &dw_mark_entity), page->path);
    dw_records_clear(&marks);
}

static void write_received(DwJobPage *page)
{
    DwHtml *html = page->request->html;
    const DwRecord *intake = &page->intake.record;
    char id[40];
    snprintf(id, sizeof id, "intake-%lld", (long long)intake->id);
    dw_html_open(html, "div", "id", id, NULL);
    dw_record_form_change(page->request, intake, "words|since_when|worked_last|changed_lately|system|wish");
    dw_html_element(html, "h3", _("What may be spent"), NULL);
    dw_record_form_change(page->request, intake, "ceiling|contact_before");
    write_accessories(page);
    write_marks(page);
    dw_html_element(html, "h3", _("Risks"), NULL);
    dw_record_form_change(page->request, intake,
                          "modified_mains|stylus_damaged|courier_damage|irreplaceable|sentimental|dispute|smell|"
                          "earlier_repair|prior_repairer");
    dw_html_element(html, "h3", _("With the owner"), NULL);
    dw_record_form_change(page->request, intake,
                          "none_other_received|list_correct|terms_accepted|estimate_charge_told|storage_charge_told|"
                          "received_by|arrived|parcel|at");
    dw_html_close(html, "div");
}

void dw_job_page_intake(DwJobPage *page)
{
    dw_job_section_begin(page, DW_STATION_INTAKE);
    char id[40];
    snprintf(id, sizeof id, "job-%lld", (long long)page->job.record.id);
    dw_html_open(page->request->html, "div", "id", id, NULL);
    dw_record_form_change(page->request, &page->job.record,
                          "fault|kind|priority|place|screws_place|promised_on|technician");
    dw_html_close(page->request->html, "div");
    write_owner_and_deck(page);
    if (page->intake.record.id)
        write_received(page);
    else
        take_in(page);
    dw_job_section_end(page);
}

static bool says(const char *text)
{
    return text && *text;
}

static void write_cautions(DwJobPage *page)
{
    const DwIntake *intake = &page->intake;
    DwWebRequest *request = page->request;
    dw_page_caution(request,
                    _("Unplug before opening. Capacitors may hold their charge. Work on mains parts is for licensed "
                      "practice under the local code."));
    if (intake->modified_mains)
        dw_page_caution(request,
                        _("The mains wiring was altered: do not plug it in before it was checked and tested."));
    if (says(intake->smell)) {
        char *words = dw_text_format(_("A smell was noted on arrival (%s): look for its source before any power."),
                                     intake->smell);
        dw_page_caution(request, words);
        free(words);
    }
    if (intake->stylus_damaged)
        dw_page_caution(request,
                        _("The stylus is bent or missing: play no record of value, and take the guard's loss down."));
    if (intake->courier_damage)
        dw_page_caution(request, _("Transport damage is suspected: keep and photograph all packaging."));
    if (intake->dispute)
        dw_page_caution(request, _("A dispute is pending: photograph and measure before anything is moved."));
    if (intake->irreplaceable)
        dw_page_caution(request, _("Rare or irreplaceable: ask before anything that cannot be reversed."));
}

static void write_acknowledging(DwJobPage *page)
{
    DwHtml *html = page->request->html;
    dw_html_open(html, "div", "class", "unsafe-box", NULL);
    dw_html_element(html, "h3", _("It leaves unsafe, if at all, only with a word"), NULL);
    dw_html_element(
        html, "p",
        _("Make it safe and give the item another verdict. Or write down who was told, and what: without that "
          "the job does not become ready."),
        NULL);
    dw_job_section_form(page, "acknowledge");
    dw_form_text(page->request, "person", _("Who was told"), page->owner.name, "text", NULL);
    dw_form_area(page->request, "words", _("What was said"), "", NULL);
    dw_form_button(page->request, _("Write it down"));
    dw_form_end(page->request);
    dw_html_close(html, "div");
}

void dw_job_page_safety(DwJobPage *page)
{
    DwItemVerdict verdict;
    dw_job_section_begin(page, DW_STATION_SAFETY);
    write_cautions(page);
    if (page->stations[DW_STATION_SAFETY].state == DW_STATION_STALE)
        write_acknowledging(page);
    dw_record_init(&verdict.record, &dw_verdict_entity);
    verdict.job_id = page->job.record.id;
    verdict.aspect = DW_ASPECT_USE;
    verdict.phase = page->job.state < DW_JOB_VERIFYING ? DW_PHASE_AS_RECEIVED : DW_PHASE_AS_LEFT;
    dw_html_open(page->request->html, "details", "class", "add", NULL);
    dw_html_element(page->request->html, "summary", _("Judge an item: is it safe to use?"), NULL);
    dw_record_form_add(page->request, &verdict.record, "job_id", page->job.record.id,
                       "item|grade|evidence|action|phase|aspect", _("Give the verdict"));
    dw_html_close(page->request->html, "details");
    dw_record_clear(&verdict.record);
    dw_job_section_end(page);
}
