// SPDX-License-Identifier: MIT
// A job as a person reads it: names, not numbers; or all that the book holds of it as JSON.
#include "cli/book_call.h"

#include "base/memory.h"
#include "book/entry/entry.h"
#include "book/job/disposal.h"
#include "book/job/finding.h"
#include "book/job/intake.h"
#include "book/job/measurement.h"
#include "book/job/set_up.h"
#include "book/job/verdict.h"
#include "book/job/work.h"
#include "book/money/consent.h"
#include "book/money/payment.h"
#include "book/shop/deck.h"
#include "book/store/attachment.h"
#include "cli/tell.h"

#include <stdlib.h>
#include <string.h>

// What hangs on a job, in the order of its stay.
static const DwEntity *const parts[] = {
    &dw_stage_entity,      &dw_intake_entity,      &dw_measurement_entity, &dw_verdict_entity, &dw_finding_entity,
    &dw_operation_entity,  &dw_lubrication_entity, &dw_part_entity,        &dw_set_up_entity,  &dw_estimate_entity,
    &dw_consent_entity,    &dw_invoice_entity,     &dw_payment_entity,     &dw_notice_entity,  &dw_contact_entity,
    &dw_attachment_entity, &dw_disposal_entity,
};

static DwStatus print_overall(DwBookCall *call, int64_t job, DwMessage *message)
{
    static const char *const questions[] = {N_("Safe to use?"), N_("Safe for records?"), N_("Performs to its class?"),
                                            N_("Appearance")};
    DwOverall overall[DW_ASPECT_COUNT];
    DwStatus status = dw_verdict_overall(call->book, job, overall, message);
    if (status != DW_OK)
        return status;
    for (int i = 0; i < DW_ASPECT_COUNT; i++) {
        fputs("  ", stdout);
        dw_tell_padded(stdout, dw_said(questions[i]), 26);
        printf(" %s", dw_said(dw_verdict_word(overall[i].grade)));
        printf("%s%s", *overall[i].item ? dw_said(", by ") : "", overall[i].item);
        if (overall[i].not_tested)
            dw_tell(stdout, " (%zu not tested)", overall[i].not_tested);
        puts("");
    }
    dw_verdict_overall_clear(overall);
    return DW_OK;
}

// Each record of a kind by what it is called, and its id for whoever wants more of it.
static void print_titles(DwBookCall *call, const DwRecords *records)
{
    printf("%s\n", dw_said(dw_entry_plural(records->entity)));
    for (size_t i = 0; i < records->count; i++) {
        const DwRecord *record = dw_records_at(records, i);
        char *title = dw_entry_title(call->book, record);
        for (char *at = title; (at = strpbrk(at, "\r\n")); at++)
            *at = ' ';
        char *more = dw_book_call_more(call, record, false);
        dw_tell(stdout, "  %s%s  (%s, id %lld)\n", title, more, record->entity->name, (long long)record->id);
        free(more);
        free(title);
    }
}

static DwStatus print_parts(DwBookCall *call, int64_t job, DwMessage *message)
{
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        DwRecords records;
        DwStatus status = dw_record_list(call->book, parts[i], "job_id", job, &records, message);
        if (status != DW_OK)
            return status;
        if (records.count)
            print_titles(call, &records);
        dw_records_clear(&records);
    }
    return DW_OK;
}

static DwStatus print_json_of(DwBookCall *call, const DwEntity *entity, int64_t id, DwMessage *message)
{
    if (!id) {
        printf(",\"%s\":null", entity->name);
        return DW_OK;
    }
    DwRecord *record = dw_record_new(entity);
    DwStatus status = dw_record_load(call->book, record, id, message);
    if (status == DW_OK) {
        printf(",\"%s\":", entity->name);
        dw_book_call_print(call, record);
    }
    dw_record_free(record);
    return status;
}

static DwStatus print_json_list(DwBookCall *call, const DwEntity *entity, const char *key, int64_t id,
                                DwMessage *message)
{
    DwRecords records;
    DwStatus status = dw_record_list(call->book, entity, key, id, &records, message);
    if (status != DW_OK)
        return status;
    printf(",\"%s\":", entity->name);
    dw_book_call_print_all(call, &records);
    dw_records_clear(&records);
    return DW_OK;
}

// What was received with the deck hangs on the intake.
static DwStatus print_json_intake(DwBookCall *call, int64_t job, DwMessage *message)
{
    DwRecords intakes;
    DwStatus status = dw_record_list(call->book, &dw_intake_entity, "job_id", job, &intakes, message);
    if (status != DW_OK)
        return status;
    int64_t id = intakes.count ? dw_records_at(&intakes, 0)->id : 0;
    dw_records_clear(&intakes);
    status = print_json_list(call, &dw_accessory_entity, "intake_id", id, message);
    return status == DW_OK ? print_json_list(call, &dw_mark_entity, "intake_id", id, message) : status;
}

static DwStatus print_json(DwBookCall *call, const DwJob *job, DwMessage *message)
{
    printf("{\"job\":");
    dw_book_call_print(call, &job->record);
    DwStatus status = print_json_of(call, &dw_customer_entity, job->customer_id, message);
    if (status == DW_OK)
        status = print_json_of(call, &dw_deck_entity, job->deck_id, message);
    for (size_t i = 0; status == DW_OK && i < sizeof parts / sizeof *parts; i++)
        status = print_json_list(call, parts[i], "job_id", job->record.id, message);
    if (status == DW_OK)
        status = print_json_intake(call, job->record.id, message);
    puts("}");
    return status;
}

DwStatus dw_job_show(DwBookCall *call, const DwJob *job, DwMessage *message)
{
    if (call->json)
        return print_json(call, job, message);
    dw_book_call_print(call, &job->record);
    DwStatus status = print_overall(call, job->record.id, message);
    return status == DW_OK ? print_parts(call, job->record.id, message) : status;
}
