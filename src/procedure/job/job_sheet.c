// SPDX-License-Identifier: MIT
#include "procedure/job/job_sheet.h"

#include "base/arm_key.h"
#include "base/memory.h"
#include "base/text.h"
#include "book/model/model.h"
#include "book/store/bound.h"
#include "book/shop/deck.h"
#include "book/job/measurement.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

DwStatus dw_job_sheet_phase(const char *word, DwPhase *phase, DwMessage *message)
{
    static const struct {
        const char *word;
        DwPhase phase;
    } words[] = {{"received", DW_PHASE_AS_RECEIVED}, {"during", DW_PHASE_DURING}, {"left", DW_PHASE_AS_LEFT}};
    for (size_t i = 0; word && i < sizeof words / sizeof *words; i++)
        if (strcmp(words[i].word, word) == 0) {
            *phase = words[i].phase;
            return DW_OK;
        }
    return dw_fail(message, DW_BAD_INPUT, "Say when it was measured: received, during or left.");
}

// The class of DECK: its own, else that of its model, else that of the year in which it was made. The caller frees
// *CLASS with free().
static DwStatus find_class(DwBook *book, const DwDeck *deck, char **class, DwMessage *message)
{
    int64_t id = 0;
    DwModel model;
    dw_record_init(&model.record, &dw_model_entity);
    bool own = deck->class && *deck->class;
    DwStatus status = own ? DW_OK : dw_model_find(book, deck->make, deck->model, &id, message);
    if (status == DW_OK && id)
        status = dw_record_load(book, &model.record, id, message);
    if (status == DW_OK)
        *class = dw_memory_text(own                           ? deck->class
                                : model.class && *model.class ? model.class
                                                              : dw_deck_class_of_year(deck->made_year));
    dw_record_clear(&model.record);
    return status;
}

static bool is_listed(const char *names, const char *name)
{
    size_t length = strlen(name);
    for (const char *at = names; *at; at += strcspn(at, "\n"), at += *at == '\n')
        if (strcspn(at, "\n") == length && strncasecmp(at, name, length) == 0)
            return true;
    return false;
}

// Whether SHEET has something of an arm among what was given.
static bool has_arm(const DwSheet *sheet)
{
    for (size_t i = 0; i < sheet->input_count; i++)
        if (sheet->inputs[i].given && dw_arm_key_is_arms(sheet->inputs[i].key))
            return true;
    return false;
}

// Of a deck with several arms: which of them SHEET is of, and that of a name that stands nowhere nothing was known.
static DwStatus remark_arm(DwBook *book, int64_t deck, DwSheet *sheet, DwMessage *message)
{
    char *names;
    DwStatus status = dw_deck_arms(book, deck, &names, message);
    if (status != DW_OK)
        return status;
    const char *arm = dw_measurement_arm(sheet);
    char *list = dw_memory_text(names);
    for (char *at = list; *at; at++)
        *at = *at == '\n' ? ',' : *at;
    if (*arm && !is_listed(names, arm))
        dw_sheet_remark_once(sheet,
                             "The book kept nothing of an arm called %s on this deck before (%s%s): nothing of another "
                             "arm was taken for it.",
                             arm, *list ? "it knows " : "it knows no other by name", list);
    else if (!*arm && *list && has_arm(sheet))
        dw_sheet_remark_once(sheet, "This is of the deck's own arm; the book knows others on it: %s.", list);
    free(list);
    free(names);
    return DW_OK;
}

DwStatus dw_job_sheet_bound(DwBook *book, const DwJob *job, DwSheet *sheet, DwMessage *message)
{
    DwDeck deck;
    char *class = NULL;
    if (!job->deck_id)
        return DW_OK;
    dw_record_init(&deck.record, &dw_deck_entity);
    DwStatus status = dw_record_load(book, &deck.record, job->deck_id, message);
    if (status == DW_OK)
        status = find_class(book, &deck, &class, message);
    if (status == DW_OK)
        status = dw_bound_apply(book, class, deck.make ? deck.make : "", deck.model ? deck.model : "", sheet, message);
    if (status == DW_OK)
        status = dw_job_model_remark(book, job->deck_id, sheet, message);
    if (status == DW_OK && dw_procedure_find(sheet->procedure) &&
        dw_procedure_takes(dw_procedure_find(sheet->procedure), "arm.name"))
        status = remark_arm(book, job->deck_id, sheet, message);
    free(class);
    dw_record_clear(&deck.record);
    return status;
}

DwStatus dw_job_sheet_keep(DwBook *book, const char *number, DwPhase phase, DwSheet *sheet, int64_t *id,
                           DwMessage *message)
{
    DwJob job;
    DwMeasurement measurement;
    dw_record_init(&job.record, &dw_job_entity);
    dw_record_init(&measurement.record, &dw_measurement_entity);
    DwStatus status = dw_job_find(book, number, &job, message);
    measurement.job_id = job.record.id;
    measurement.phase = (int)phase;
    if (status == DW_OK)
        status = dw_job_sheet_bound(book, &job, sheet, message);
    if (status == DW_OK)
        status = dw_measurement_save(book, sheet, &measurement, message);
    if (status == DW_OK)
        *id = measurement.record.id;
    dw_record_clear(&job.record);
    dw_record_clear(&measurement.record);
    return status;
}
