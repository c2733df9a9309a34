// SPDX-License-Identifier: MIT
// What a kept sheet was measured with, supplied afterwards where it is named wrongly or not at all.
#include "base/memory.h"
#include "base/text.h"
#include "book/shop/register.h"
#include "book/store/attachment.h"
#include "web/job/job_line.h"
#include "web/measure/pages.h"
#include "web/measure/sheet_source.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { NAMES_MOST = 100 };

// Each name once, the first of them the one that stands.
typedef struct {
    const char *words[NAMES_MOST], *values[NAMES_MOST];
    size_t count;
} Names;

static void add(Names *names, const char *name)
{
    if (!name || !*name || names->count == NAMES_MOST)
        return;
    for (size_t i = 0; i < names->count; i++)
        if (strcmp(names->values[i], name) == 0)
            return;
    names->words[names->count] = names->values[names->count] = name;
    names->count++;
}

// A list of what the register of ENTITY has, with STANDING and OTHER, the name on the sheet beside it.
static void write_choice(DwPage *page, const DwEntity *entity, const char *key, const char *label, const char *standing,
                         const char *other)
{
    DwRecords records = {0};
    char *texts[NAMES_MOST];
    size_t count = 0;
    Names names = {.words = {_("Not named")}, .values = {""}, .count = 1};
    add(&names, standing);
    add(&names, other);
    dw_record_newest(page->request->book, entity, NULL, 0, NAMES_MOST - 3, &records, NULL);
    for (size_t i = 0; i < records.count && i < NAMES_MOST; i++, count++) {
        texts[i] = dw_record_text(page->request->book, dw_records_at(&records, i), dw_field_find(entity, "name"));
        add(&names, texts[i]);
    }
    dw_form_choice(page, key, label, names.words, names.values, names.count, standing ? standing : "", NULL);
    for (size_t i = 0; i < count; i++)
        free(texts[i]);
    dw_records_clear(&records);
}

static void write_hidden(DwPage *page, const char *name, int64_t id)
{
    char text[24];
    snprintf(text, sizeof text, "%lld", (long long)id);
    dw_html_void(page->html, "input", "type", "hidden", "name", name, "value", text, NULL);
}

static void write_form(DwPage *page, const DwSheetSource *source, bool open)
{
    const DwMeasurement *this = &source->measurement, *other = source->before ? &source->before_from : NULL;
    DwHtml *html = page->html;
    char *action = dw_text_format("%s/supply", source->place);
    dw_html_open(html, "details", "id", "supply", "open", DW_HTML_IF(open), NULL);
    dw_html_element(html, "summary", _("Supply what it was measured with"), NULL);
    dw_html_element(html, "p",
                    _("For a name that is missing or wrong. The sheet as it was stays in the book, withdrawn with your "
                      "reason; one that says what you supplied has its place. The numbers stay as they are."),
                    NULL);
    dw_form_begin(page, action, false);
    if (other)
        write_hidden(page, "with", other->record.id);
    else if (dw_request_id(page->request, "against"))
        write_hidden(page, "against", dw_request_id(page->request, "against"));
    dw_html_open(html, "div", "class", "fields", NULL);
    if (strcmp(this->procedure, DW_MEASUREMENT_BY_HAND) == 0)
        write_choice(page, &dw_instrument_entity, "instrument", _("Instrument"), this->instrument,
                     other ? other->instrument : NULL);
    else {
        write_choice(page, &dw_test_record_entity, "test_record", _("Test record"), this->test_record,
                     other ? other->test_record : NULL);
        write_choice(page, &dw_chain_entity, "chain", _("Recording chain"), this->chain, other ? other->chain : NULL);
    }
    dw_form_text(page, "why", _("How you know it"), "", "text", NULL);
    dw_html_close(html, "div");
    dw_form_button(page, _("Supply it"));
    dw_form_end(page);
    dw_html_close(html, "details");
    free(action);
}

// The recording of MEASUREMENT if it is kept on its job, else 0.
static int64_t kept_recording(const DwWebRequest *request, const DwMeasurement *measurement)
{
    DwRecords records = {.entity = &dw_attachment_entity};
    int64_t id = 0;
    if (!*measurement->subject || dw_attachment_of_job(request->book, measurement->job_id, &records, NULL) != DW_OK)
        return 0;
    for (size_t i = 0; i < records.count; i++) {
        const DwAttachment *attachment = (const DwAttachment *)dw_records_at(&records, i);
        if (attachment->kind == DW_ATTACHMENT_RECORDING &&
            (strcmp(attachment->original_name, measurement->subject) == 0 ||
             strcmp(dw_attachment_name(attachment), measurement->subject) == 0))
            id = attachment->record.id;
    }
    dw_records_clear(&records);
    return id;
}

// A link that measures ONE again with the settings of OTHER, from its recording where that is kept.
static void write_again(DwPage *page, const char *job, const DwMeasurement *one, const DwMeasurement *other,
                        const char *words)
{
    int64_t recording = kept_recording(page->request, one);
    if (!recording)
        return;
    char *path = dw_text_format("/measure/%s?job=%s&as=%s&same=%lld&kept1=%lld", one->procedure, job,
                                dw_job_line_as((DwPhase)one->phase), (long long)other->record.id, (long long)recording);
    dw_html_element(page->html, "a", words, "class", "button second", "href", path, NULL);
    free(path);
}

static void write_ways(DwPage *page, const DwSheetSource *source)
{
    const DwMeasurement *after = &source->measurement, *before = &source->before_from;
    DwJob job;
    char number[24] = "";
    dw_record_init(&job.record, &dw_job_entity);
    if (dw_record_load(page->request->book, &job.record, after->job_id, NULL) == DW_OK)
        snprintf(number, sizeof number, "%04lld", (long long)job.number);
    dw_record_clear(&job.record);
    dw_html_open(page->html, "div", "class", "acts", NULL);
    char *there =
        dw_text_format("/sheet/%lld?against=%lld#supply", (long long)before->record.id, (long long)after->record.id);
    dw_html_element(page->html, "a", _("Supply it on the sheet as received"), "class", "button second", "href", there,
                    NULL);
    free(there);
    write_again(page, number, after, before, _("Measure this recording again with the settings as received"));
    write_again(page, number, before, after, _("Measure the one as received again with these settings"));
    dw_html_close(page->html, "div");
}

void dw_sheet_supply_write(DwPage *page, const DwSheetSource *source)
{
    const DwMeasurement *this = &source->measurement;
    bool withdrawn = this->withdrawn_at && *this->withdrawn_at;
    bool by_hand = strcmp(this->procedure, DW_MEASUREMENT_BY_HAND) == 0;
    if (withdrawn || (!*this->subject && !by_hand))
        return; // reckoned from numbers: nothing was played
    char *reason =
        source->before ? dw_sheet_next_spoils(&source->before_from, source->before, this, source->sheet) : NULL;
    bool spoilt = reason && *reason;
    if (spoilt) {
        char *words = dw_text_format(_("The two cannot be compared: %s"), reason);
        dw_html_element(page->html, "p", words, "class", "caution", "id", "spoils", NULL);
        free(words);
        write_ways(page, source);
    }
    write_form(page, source, spoilt || dw_request_id(page->request, "against"));
    free(reason);
}

static int64_t sent_id(const DwWebRequest *request, const char *name)
{
    return strtoll(dw_request_field(request, name), NULL, 10);
}

static const char *sent_name(const DwWebRequest *request, const char *name)
{
    return dw_request_sent(request, name) ? dw_request_field(request, name) : NULL;
}

static DwAnswer post_supply(const DwWebRequest *request)
{
    DwMessage message;
    int64_t id = 0, with = sent_id(request, "with"), against = sent_id(request, "against");
    const DwSupplied supplied = {sent_name(request, "test_record"), sent_name(request, "chain"),
                                 sent_name(request, "instrument")};
    DwStatus status = dw_measurement_supply(request->book, dw_request_id(request, "id"), &supplied,
                                            dw_request_field(request, "why"), &id, &message);
    if (status != DW_OK)
        return dw_answer_trouble(status, &message);
    if (with > 0)
        return dw_answer_go("/sheet/%lld?with=%lld", (long long)id, (long long)with);
    if (against > 0)
        return dw_answer_go("/sheet/%lld?with=%lld", (long long)against, (long long)id);
    return dw_answer_go("/sheet/%lld", (long long)id);
}

const DwWebRoute dw_routes_sheet_supply[] = {
    {"POST", "/sheet/:id/supply", post_supply, false},
    {0},
};
