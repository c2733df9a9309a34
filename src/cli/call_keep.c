// SPDX-License-Identifier: MIT
// A procedure's sheet kept on a job: --job 0042 --as received.
#include "book/bound.h"
#include "book/deck.h"
#include "book/job.h"
#include "book/measurement.h"
#include "cli/book_call.h"

#include <string.h>

DwStatus dw_book_call_phase(const char *word, DwPhase *phase, DwMessage *message)
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

DwStatus dw_book_call_apply_bounds(DwBook *book, const DwJob *job, DwSheet *sheet, DwMessage *message)
{
    DwDeck deck;
    if (!job->deck_id)
        return DW_OK;
    dw_record_init(&deck.record, &dw_deck_entity);
    DwStatus status = dw_record_load(book, &deck.record, job->deck_id, message);
    if (status == DW_OK)
        status = dw_bound_apply(book, deck.class ? deck.class : "", deck.make ? deck.make : "",
                                deck.model ? deck.model : "", sheet, message);
    dw_record_clear(&deck.record);
    return status;
}

static DwStatus keep(DwBook *book, const DwCall *call, DwPhase phase, DwSheet *sheet, DwMessage *message)
{
    DwJob job;
    DwMeasurement measurement;
    dw_record_init(&job.record, &dw_job_entity);
    dw_record_init(&measurement.record, &dw_measurement_entity);
    DwStatus status = dw_job_find(book, call->job, &job, message);
    measurement.job_id = job.record.id;
    measurement.phase = (int)phase;
    if (status == DW_OK)
        status = dw_book_call_apply_bounds(book, &job, sheet, message);
    if (status == DW_OK)
        status = dw_measurement_save(book, sheet, &measurement, message);
    dw_record_clear(&job.record);
    dw_record_clear(&measurement.record);
    return status;
}

DwStatus dw_call_keep(const DwCall *call, DwSheet *sheet, DwMessage *message)
{
    DwPhase phase = DW_PHASE_NONE;
    DwBook *book = NULL;
    DwStatus status = dw_book_call_phase(call->as, &phase, message);
    if (status == DW_OK)
        status = dw_book_call_open(call->book, call->by, &book, message);
    if (status == DW_OK)
        status = keep(book, call, phase, sheet, message);
    dw_book_close(book);
    return status;
}
