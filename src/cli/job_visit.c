// SPDX-License-Identifier: MIT
// Decks that one customer brought at once, on the command line.
#include "book/entry/entry.h"

#include "base/tongue.h"
#include "book/job/visit.h"
#include "cli/book_call.h"

static DwStatus list_visit(DwBookCall *call, int64_t job, DwMessage *message)
{
    DwRecords jobs;
    DwStatus status = dw_visit_jobs(call->book, job, &jobs, message);
    if (status != DW_OK)
        return status;
    if (call->json)
        dw_book_call_print_all(call, &jobs);
    for (size_t i = 0; !call->json && i < jobs.count; i++) {
        const DwJob *one = (const DwJob *)dw_records_at(&jobs, i);
        printf("%04lld  %s%s%s\n", (long long)one->number, dw_said(dw_job_state_word((DwJobState)one->state)),
               one->fault && *one->fault ? ", " : "", one->fault ? one->fault : "");
    }
    dw_records_clear(&jobs);
    return DW_OK;
}

DwStatus dw_job_call_visit(DwBookCall *call, DwMessage *message)
{
    DwJob job, first;
    dw_record_init(&job.record, &dw_job_entity);
    dw_record_init(&first.record, &dw_job_entity);
    DwStatus status = dw_job_find(call->book, call->words[0], &job, message);
    if (status == DW_OK && call->word_count > 1) {
        status = dw_job_find(call->book, call->words[1], &first, message);
        job.came_with_id = first.record.id;
        if (status == DW_OK)
            status = dw_entry_change(call->book, &job.record, NULL, message);
    }
    if (status == DW_OK)
        status = list_visit(call, job.record.id, message);
    dw_record_clear(&job.record);
    dw_record_clear(&first.record);
    return status;
}
