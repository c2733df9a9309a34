// SPDX-License-Identifier: MIT
// Records of any kind from the command line: listed, added, changed.
#include "book/consent.h"
#include "book/intake.h"
#include "book/invoice.h"
#include "book/photo.h"
#include "book/register.h"
#include "book/set_up.h"
#include "book/verdict.h"
#include "book/work.h"
#include "cli/book_call.h"

#include <stdlib.h>

DwStatus dw_book_call_list(DwBookCall *call, const DwEntity *entity, const char *const *columns, DwMessage *message)
{
    DwRecords records;
    DwStatus status = dw_record_list(call->book, entity, NULL, 0, &records, message);
    if (status != DW_OK)
        return status;
    if (call->json)
        fputs("[", stdout);
    for (size_t i = 0; i < records.count; i++) {
        const DwRecord *record = dw_records_at(&records, i);
        if (call->json) {
            fputs(i ? "," : "", stdout);
            dw_book_call_print(call, record);
            continue;
        }
        printf("%5lld", (long long)record->id);
        for (size_t c = 0; columns[c]; c++) {
            char *text = dw_record_text(call->book, record, dw_field_find(entity, columns[c]));
            if (*text)
                printf("  %s", text);
            free(text);
        }
        puts("");
    }
    if (call->json)
        puts("]");
    dw_records_clear(&records);
    return DW_OK;
}

DwStatus dw_book_call_write(DwBookCall *call, DwRecord *record, const char *number, DwMessage *message)
{
    int64_t id = 0;
    DwStatus status = number ? dw_book_call_number(number, &id, message) : DW_OK;
    if (status == DW_OK && id)
        status = dw_record_load(call->book, record, id, message);
    if (status == DW_OK)
        status = dw_book_call_set(call, record, message);
    if (status == DW_OK && (!id || call->operand_count))
        status = dw_record_save(call->book, record, message);
    if (status == DW_OK)
        dw_book_call_print(call, record);
    dw_record_clear(record);
    return status;
}

DwStatus dw_book_call_add(DwBookCall *call, DwRecord *record, DwMessage *message)
{
    DwStatus status = dw_book_call_set(call, record, message);
    if (status == DW_OK)
        status = dw_book_call_save(call->book, record, message);
    if (status == DW_OK)
        dw_book_call_print(call, record);
    dw_record_clear(record);
    return status;
}

DwStatus dw_book_call_save(DwBook *book, DwRecord *record, DwMessage *message)
{
    const DwEntity *entity = record->entity;
    if (entity == &dw_job_entity)
        return dw_job_open(book, (DwJob *)record, message);
    if (entity == &dw_verdict_entity)
        return dw_verdict_give(book, (DwItemVerdict *)record, message);
    if (entity == &dw_part_entity)
        return dw_part_fit(book, (DwPart *)record, message);
    if (entity == &dw_consent_entity)
        return dw_consent_log(book, (DwConsent *)record, message);
    if (entity == &dw_estimate_line_entity)
        return dw_estimate_add(book, (DwEstimateLine *)record, message);
    if (entity == &dw_invoice_line_entity)
        return dw_invoice_add(book, (DwInvoiceLine *)record, message);
    if (entity == &dw_instrument_check_entity)
        return dw_instrument_check(book, (DwInstrumentCheck *)record, message);
    if (entity == &dw_set_up_entity)
        return dw_set_up_note(book, (DwSetUp *)record, message);
    if (entity == &dw_photo_scale_entity)
        return dw_photo_scale_add(book, (DwPhotoScale *)record, message);
    if (entity == &dw_photo_measure_entity)
        return dw_photo_measure_add(book, (DwPhotoMeasure *)record, message);
    if (entity == &dw_intake_entity && !((DwIntake *)record)->at) {
        char now[DW_MOMENT_SIZE];
        dw_book_now(book, now);
        DwStatus status = dw_record_set(book, record, "at", now, message);
        if (status != DW_OK)
            return status;
    }
    return dw_record_save(book, record, message);
}

DwStatus dw_book_call_show_bill(DwBookCall *call, DwRecord *bill, const DwEntity *lines, const char *key,
                                DwStatus (*print_totals)(DwBookCall *call, int64_t id, DwMessage *message),
                                DwMessage *message)
{
    int64_t id = 0;
    DwRecords records = {0};
    DwStatus status = dw_book_call_number(call->words[0], &id, message);
    if (status == DW_OK)
        status = dw_record_load(call->book, bill, id, message);
    if (status == DW_OK)
        status = dw_record_list(call->book, lines, key, id, &records, message);
    if (status == DW_OK)
        dw_book_call_print(call, bill);
    for (size_t i = 0; i < records.count; i++)
        dw_book_call_print(call, dw_records_at(&records, i));
    if (status == DW_OK && !call->json)
        status = print_totals(call, id, message);
    dw_records_clear(&records);
    dw_record_clear(bill);
    return status;
}
