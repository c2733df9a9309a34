// SPDX-License-Identifier: MIT
// The plan of a job's work on the command line: put on the bench, listed, ticked off.
#include "base/text.h"
#include "book/entry/entry.h"
#include "book/job/work.h"
#include "cli/book_call.h"
#include "procedure/job/job_guide.h"
#include "cli/tell.h"

#include <stdlib.h>
#include <string.h>

static DwStatus find_job(DwBookCall *call, DwJob *job, DwMessage *message)
{
    dw_record_init(&job->record, &dw_job_entity);
    return dw_job_find(call->book, call->words[0], job, message);
}

static void print_step(const DwOperation *operation)
{
    bool done = dw_operation_is_done(operation);
    printf("%s %2lld  %s", done ? "[x]" : "[ ]", (long long)operation->place, operation->name);
    if (operation->quoted_minutes)
        dw_tell(stdout, ", %lld min", (long long)operation->quoted_minutes);
    if (done && operation->done_at)
        dw_tell(stdout, ", done %.10s", operation->done_at);
    if (!done && operation->left_out && *operation->left_out)
        dw_tell(stdout, ", not done: %s", operation->left_out);
    puts("");
    for (const char *at = operation->care ? operation->care : ""; *at && !done;) {
        int length = (int)strcspn(at, "\n");
        printf("        %.*s\n", length, at);
        at += length;
        at += *at == '\n';
    }
}

static DwStatus list_plan(DwBookCall *call, const DwJob *job, DwMessage *message)
{
    DwRecords operations;
    DwStatus status = dw_operation_plan(call->book, job->record.id, &operations, message);
    if (status != DW_OK)
        return status;
    if (call->json)
        dw_book_call_print_all(call, &operations);
    for (size_t i = 0; !call->json && i < operations.count; i++)
        print_step((const DwOperation *)dw_records_at(&operations, i));
    dw_records_clear(&operations);
    return DW_OK;
}

DwStatus dw_job_call_plan(DwBookCall *call, DwMessage *message)
{
    DwJob job;
    size_t added = 0;
    DwStatus status = find_job(call, &job, message);
    if (status == DW_OK)
        status = dw_job_guide_plan(call->book, &job, &added, message);
    if (status == DW_OK && !call->json)
        dw_tell(stdout, "%zu step%s put on the bench of job %04lld.\n", added, added == 1 ? "" : "s",
                (long long)job.number);
    if (status == DW_OK)
        status = list_plan(call, &job, message);
    dw_record_clear(&job.record);
    return status;
}

// Loads the step that the call's words name and, once ACT has set it, keeps it and lists the plan.
static DwStatus change_step(DwBookCall *call, DwStatus (*act)(DwBookCall *, DwOperation *, DwMessage *),
                            DwMessage *message)
{
    DwJob job;
    DwOperation operation;
    int64_t place = 0;
    dw_record_init(&operation.record, &dw_operation_entity);
    DwStatus status = find_job(call, &job, message);
    if (status == DW_OK)
        status = dw_book_call_number(call->words[1], &place, message);
    if (status == DW_OK)
        status = dw_operation_planned(call->book, job.record.id, place, &operation, message);
    if (status == DW_OK)
        status = act(call, &operation, message);
    if (status == DW_OK)
        status = dw_entry_change(call->book, &operation.record, NULL, message);
    if (status == DW_OK)
        status = list_plan(call, &job, message);
    dw_record_clear(&operation.record);
    dw_record_clear(&job.record);
    return status;
}

static DwStatus tick(DwBookCall *call, DwOperation *operation, DwMessage *message)
{
    static const char *const keys[] = {"minutes", NULL};
    const char *typed = dw_book_call_operand(call, "minutes");
    int64_t minutes = 0;
    DwStatus status = dw_book_call_only(call, keys, message);
    if (status == DW_OK && typed)
        status = dw_book_call_number(typed, &minutes, message);
    if (status == DW_OK)
        dw_operation_tick(call->book, operation, minutes);
    return status;
}

static DwStatus untick(DwBookCall *call, DwOperation *operation, DwMessage *message)
{
    (void)call;
    (void)message;
    dw_operation_untick(operation);
    return DW_OK;
}

static DwStatus leave_out(DwBookCall *call, DwOperation *operation, DwMessage *message)
{
    return dw_operation_leave_out(operation, call->words[2], message);
}

DwStatus dw_job_call_tick(DwBookCall *call, DwMessage *message)
{
    return change_step(call, tick, message);
}

DwStatus dw_job_call_untick(DwBookCall *call, DwMessage *message)
{
    return change_step(call, untick, message);
}

DwStatus dw_job_call_leave_out(DwBookCall *call, DwMessage *message)
{
    return change_step(call, leave_out, message);
}
