// SPDX-License-Identifier: MIT
#include "web/measure/sheet_view.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/job/comparison.h"
#include "book/job/job.h"
#include "guide/guide_setup.h"
#include "procedure/registry/procedure.h"
#include "web/server/words.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// A reading that is a setting, and which; its unit is the setting's own.
static const struct {
    const char *procedure, *reading, *setting;
} notes[] = {
    {"align", "align.overhang", "arm.overhang"},    {"align", "align.offset", "arm.offset"},
    {"force", "force.tracking_g", "force.reading"}, {"rake", "rake.angle", "rake.measured"},
    {"speed", "speed.mean", "setup.speed"},
};

char *dw_sheet_next_path(const DwSheetNext *next, const char *name)
{
    const DwProcedure *procedure = dw_procedure_find(name);
    DwText path = {0};
    dw_text_add(&path, "/measure/%s?job=%s&as=%s", procedure->name, next->job, next->as);
    for (size_t i = 0; i < next->sheet->input_count; i++) {
        const DwSheetInput *input = &next->sheet->inputs[i];
        if (!input->given || !dw_procedure_takes(procedure, input->key))
            continue;
        char *value = dw_text_format("%s%s", input->text, input->unit);
        dw_text_add(&path, "&%s=", input->key);
        for (const char *at = value; *at; at++)
            if (isalnum((unsigned char)*at) || strchr("-._~", *at))
                dw_text_add(&path, "%c", *at);
            else
                dw_text_add(&path, "%%%02X", (unsigned)(unsigned char)*at);
        free(value);
    }
    return dw_text_take(&path);
}

static void write_link(DwPage *page, const char *path, const char *words)
{
    dw_html_element(page->html, "a", words, "class", "button second", "href", path, NULL);
}

// One touch that notes READING as the setting.
static void write_note(DwPage *page, const DwSheetNext *next, const DwReading *reading, const DwGuideSetting *setting)
{
    char number[64];
    char *action = dw_text_format("/job/%s/setup", next->job);
    dw_text_decimal(number, sizeof number, reading->value, reading->digits);
    char *words = dw_text_format(_("Note in the set-up: %s %s %s"), dw_words(setting->label), number, reading->unit);
    dw_form_begin(page, action, false);
    dw_html_void(page->html, "input", "type", "hidden", "name", "key", "value", setting->key, NULL);
    dw_html_void(page->html, "input", "type", "hidden", "name", "as", "value", next->as, NULL);
    dw_html_void(page->html, "input", "type", "hidden", "name", "value", "value", number, NULL);
    dw_html_void(page->html, "input", "type", "hidden", "name", "unit", "value", reading->unit, NULL);
    dw_html_element(page->html, "button", words, "type", "submit", "class", "second", NULL);
    dw_form_end(page);
    free(action);
    free(words);
}

static void write_notes(DwPage *page, const DwSheetNext *next)
{
    for (size_t i = 0; i < sizeof notes / sizeof *notes; i++) {
        int index = dw_guide_setup_find(notes[i].setting);
        const DwReading *reading = strcmp(notes[i].procedure, next->sheet->procedure) == 0
                                       ? dw_sheet_reading(next->sheet, notes[i].reading)
                                       : NULL;
        if (reading && index >= 0 && !reading->word && isfinite(reading->value))
            write_note(page, next, reading, dw_guide_setup_at((size_t)index));
    }
}

// The setting that comes after those which PROCEDURE measures, and has a procedure of its own; NULL for none.
static const DwProcedure *find_following(const char *procedure)
{
    bool met = false;
    for (size_t i = 0; i < dw_guide_setup_count(); i++) {
        const char *name = dw_guide_setup_at(i)->procedure;
        bool same = name && strcmp(name, procedure) == 0;
        if (met && name && !same)
            return dw_procedure_find(name);
        met = met || same;
    }
    return NULL;
}

void dw_sheet_next_write(DwPage *page, const DwSheetNext *next)
{
    bool align = strcmp(next->sheet->procedure, "align") == 0;
    const DwProcedure *following = align ? dw_procedure_find("template") : find_following(next->sheet->procedure);
    if (!following && !*next->job)
        return;
    dw_html_open(page->html, "section", "class", "next", "aria-labelledby", "next-title", NULL);
    dw_html_element(page->html, "h2", _("What comes next"), "id", "next-title", NULL);
    dw_html_open(page->html, "div", "class", "acts", NULL);
    if (*next->job && *next->as)
        write_notes(page, next);
    if (following) {
        char *path = dw_sheet_next_path(next, following->name);
        char *words = align ? dw_memory_text(_("Print the template for this"))
                            : dw_text_format(_("Next: %s"), dw_words(following->title));
        write_link(page, path, words);
        free(path);
        free(words);
    }
    if (*next->job) {
        char *path = dw_text_format("/job/%s", next->job);
        write_link(page, path, _("To the job"));
        free(path);
    }
    dw_html_close(page->html, "div");
    dw_html_close(page->html, "section");
}

// The newest sheet as received of the same procedure; 0 without one.
static size_t find_before(const DwRecords *records, const char *procedure)
{
    for (size_t i = records->count; i-- > 0;) {
        const DwMeasurement *measurement = (const DwMeasurement *)dw_records_at(records, i);
        if (measurement->phase == DW_PHASE_AS_RECEIVED && strcmp(measurement->procedure, procedure) == 0)
            return i + 1;
    }
    return 0;
}

// The first reading of both that has a verdict, else the first of both.
static const char *key_of_both(const DwSheet *before, const DwSheet *after)
{
    const char *any = NULL;
    for (size_t i = 0; i < after->reading_count; i++) {
        const DwReading *reading = &after->readings[i];
        if (!dw_sheet_reading(before, reading->key))
            continue;
        if (reading->verdict != DW_VERDICT_NONE)
            return reading->key;
        any = any ? any : reading->key;
    }
    return any;
}

static void write_verdict(DwPage *page, const DwSheetNext *next, const DwMeasurement *before, const char *reason)
{
    char day[DW_DATE_SIZE];
    dw_moment_day(before->at, day);
    if (!*reason) {
        char *words = dw_text_format(_("It can be compared with what was measured as received on %s."), day);
        dw_page_remark(page, words);
        free(words);
        return;
    }
    char *words = dw_text_format(_("Kept like this it cannot be compared with what was measured as received on %s: %s"),
                                 day, reason);
    char *path = dw_text_format("/measure/%s?job=%s&as=left&same=%lld", next->sheet->procedure, next->job,
                                (long long)before->record.id);
    dw_html_element(page->html, "p", words, "class", "caution", "id", "spoils", NULL);
    dw_page_link(page, path, _("Measure it the same way"));
    free(words);
    free(path);
}

char *dw_sheet_next_spoils(const DwMeasurement *before_from, const DwSheet *before, const DwMeasurement *after_from,
                           const DwSheet *after)
{
    DwPair pair = {0};
    const char *key = key_of_both(before, after);
    if (key)
        dw_comparison_of(before_from, before, after_from, after, key, &pair);
    return pair.reason;
}

// Holds SHEET, not kept yet, against BEFORE.
static void compare(DwPage *page, const DwSheetNext *next, const DwMeasurement *before)
{
    DwSheet *sheet = NULL;
    DwMeasurement after;
    if (dw_measurement_sheet(before, &sheet, NULL) != DW_OK)
        return;
    dw_record_init(&after.record, &dw_measurement_entity);
    dw_measurement_describe(page->request->book, next->sheet, &after);
    char *reason = dw_sheet_next_spoils(before, sheet, &after, next->sheet);
    if (reason)
        write_verdict(page, next, before, reason);
    free(reason);
    dw_record_clear(&after.record);
    dw_sheet_free(sheet);
}

void dw_sheet_next_compare(DwPage *page, const DwSheetNext *next)
{
    DwJob job;
    DwRecords records = {0};
    if (!*next->job || strcmp(next->as, "left") != 0)
        return;
    dw_record_init(&job.record, &dw_job_entity);
    if (dw_job_find(page->request->book, next->job, &job, NULL) == DW_OK &&
        dw_measurement_standing(page->request->book, job.record.id, &records, NULL) == DW_OK) {
        size_t found = find_before(&records, next->sheet->procedure);
        if (found)
            compare(page, next, (const DwMeasurement *)dw_records_at(&records, found - 1));
    }
    dw_records_clear(&records);
    dw_record_clear(&job.record);
}
