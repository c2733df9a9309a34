// SPDX-License-Identifier: MIT
// What on this job can hurt somebody: found in the words that the book holds of the
// job and its deck, and in what was ticked at the intake. (Declared in dossier.h.)
#include "base/text.h"
#include "book/money/estimate.h"
#include "book/job/finding.h"
#include "book/job/verdict.h"
#include "book/job/work.h"
#include "report/sentence/sentence.h"

#include <stdlib.h>
#include <string.h>

// In the order in which they stand on a paper. Each has its text in [cautions] and the
// words that call for it in [caution_words]; "always" needs none.
static const struct {
    const char *key;
    bool of_work; // nothing to whoever only carries and connects the deck
} cautions[] = {
    {"mains", false}, {"altered", false}, {"tests", true},  {"capacitors", true},
    {"heat", true},   {"solvent", true},  {"strobe", true}, {"glass", false},
};

// Adds all that was written in the fields of RECORD, a line each.
static void add_words(const DwDossier *d, DwText *told, const DwRecord *record)
{
    for (size_t i = 0; i < record->entity->field_count; i++) {
        const DwField *field = &record->entity->fields[i];
        if (field->kind != DW_FIELD_TEXT)
            continue;
        char *text = dw_record_text(d->book, record, field);
        dw_text_add(told, "%s\n", text);
        free(text);
    }
}

static DwStatus add_records(const DwDossier *d, DwText *told, const DwEntity *entity, const char *key, int64_t id,
                            DwMessage *message)
{
    DwRecords records;
    DwStatus status = dw_record_list(d->book, entity, key, id, &records, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < records.count; i++)
        add_words(d, told, dw_records_at(&records, i));
    dw_records_clear(&records);
    return DW_OK;
}

static DwStatus add_estimates(const DwDossier *d, DwText *told, DwMessage *message)
{
    DwRecords estimates;
    DwStatus status = dw_dossier_records(d, &dw_estimate_entity, &estimates, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < estimates.count && status == DW_OK; i++)
        status =
            add_records(d, told, &dw_estimate_line_entity, "estimate_id", dw_records_at(&estimates, i)->id, message);
    dw_records_clear(&estimates);
    return status;
}

DwStatus dw_dossier_read_told(DwDossier *d, DwMessage *message)
{
    static const DwEntity *const entities[] = {&dw_operation_entity, &dw_lubrication_entity, &dw_part_entity,
                                               &dw_finding_entity, &dw_verdict_entity};
    DwText told = {0};
    const DwRecord *const heads[] = {&d->job.record, &d->deck.record, &d->intake.record};
    for (size_t i = 0; i < sizeof heads / sizeof *heads; i++)
        add_words(d, &told, heads[i]);
    DwStatus status = add_estimates(d, &told, message);
    for (size_t i = 0; i < sizeof entities / sizeof *entities && status == DW_OK; i++)
        status = add_records(d, &told, entities[i], "job_id", d->job.record.id, message);
    d->told = dw_text_take(&told);
    return status;
}

// Whether any word of LIST, parted by commas, is in TOLD.
static bool holds_any(const char *told, const char *list)
{
    while (*list) {
        list += strspn(list, ", ");
        size_t length = strcspn(list, ",");
        if (length && dw_text_has_word(told, list, length))
            return true;
        list += length;
    }
    return false;
}

bool dw_dossier_has_hazard(const DwDossier *d, const char *caution)
{
    if (strcmp(caution, "altered") == 0)
        return d->intake.modified_mains;
    const char *words = dw_dossier_say(d, "caution_words", caution);
    return strcmp(words, "always") == 0 || holds_any(d->told, words);
}

void dw_dossier_add_cautions(DwDossier *d, DwCautions which, const char *more)
{
    DwText text = {0};
    for (size_t i = 0; i < sizeof cautions / sizeof *cautions; i++) {
        if (cautions[i].of_work && which == DW_CAUTIONS_OF_DECK)
            continue;
        char *caution = dw_sentence(d, "cautions", cautions[i].key, NULL, NULL);
        if (*caution)
            dw_text_add(&text, "%s– %s", text.length ? "\n" : "", caution);
        free(caution);
    }
    for (size_t length; *more; more += length + (more[length] == '\n')) {
        length = strcspn(more, "\n");
        dw_text_add(&text, "%s– %.*s", text.length ? "\n" : "", (int)length, more);
    }
    char *whole = dw_text_take(&text);
    dw_piece_box(d->flow, dw_dossier_say(d, "paper", "caution"), whole, false);
    free(whole);
}
