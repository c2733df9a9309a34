// SPDX-License-Identifier: MIT
// Records of any kind from the command line: listed, added, changed.
#include "base/memory.h"
#include "base/text.h"
#include "book/entry/entry.h"
#include "book/entry/twin.h"
#include "book/shop/deck.h"
#include "cli/book_call.h"
#include "cli/tell.h"

#include <stdlib.h>
#include <string.h>

void dw_book_call_print_all(const DwBookCall *call, const DwRecords *records)
{
    if (call->json)
        fputs("[", stdout);
    for (size_t i = 0; i < records->count; i++) {
        if (call->json && i)
            fputs(",", stdout);
        dw_book_call_print(call, dw_records_at(records, i));
    }
    if (call->json)
        puts("]");
}

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
        dw_tell(stdout, "id %-5lld", (long long)record->id);
        for (size_t c = 0; columns[c]; c++) {
            char *text = dw_record_text(call->book, record, dw_field_find(entity, columns[c]));
            // A record is a line of the list, whatever was typed or pasted into it.
            for (char *at = text; (at = strpbrk(at, "\r\n")); at++)
                *at = ' ';
            if (*text)
                printf("  %s", text);
            free(text);
        }
        puts("");
    }
    if (call->json)
        puts("]");
    else if (!records.count)
        dw_tell(stdout, "The book has no %s.\n", dw_said(entity->label));
    dw_records_clear(&records);
    return DW_OK;
}

// "job 0002".
static char *job_title(const DwBookCall *call, int64_t id)
{
    DwJob job;
    dw_record_init(&job.record, &dw_job_entity);
    char *text = dw_record_load(call->book, &job.record, id, NULL) == DW_OK
                     ? dw_text_format("job %04lld", (long long)job.number)
                     : dw_memory_text("");
    dw_record_clear(&job.record);
    return text;
}

char *dw_book_call_more(const DwBookCall *call, const DwRecord *record, bool with_job)
{
    static const struct {
        const char *entity, *keys[4];
    } rows[] = {{"verdict", {"job_id", "grade"}},
                {"finding", {"job_id", "cause"}},
                {"consent", {"job_id", "tier", "amount"}},
                {"payment", {"job_id", "amount"}},
                {"estimate", {"job_id", "state"}},
                {"invoice", {"job_id", "issued_on"}},
                {"estimate_line", {"kind", "tier", "price"}},
                {"invoice_line", {"kind", "amount"}}};
    DwText text = {0};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        for (size_t k = 0; strcmp(rows[i].entity, record->entity->name) == 0 && k < 4 && rows[i].keys[k]; k++) {
            const DwField *field = dw_field_find(record->entity, rows[i].keys[k]);
            bool job = strcmp(field->key, "job_id") == 0;
            char *said = !job       ? dw_record_text(call->book, record, field)
                         : with_job ? job_title(call, *(const int64_t *)((const char *)record + field->offset))
                                    : dw_memory_text("");
            if (*said)
                dw_text_add(&text, ", %s", said);
            free(said);
        }
    char *line = text.length ? dw_text_take(&text) : dw_memory_text("");
    for (char *at = line; (at = strpbrk(at, "\r\n")); at++)
        *at = ' ';
    return line;
}

DwStatus dw_book_call_print_twins(DwBookCall *call, const DwRecord *record, DwMessage *message)
{
    DwRecords twins;
    DwStatus status = dw_twin_find(call->book, record, &twins, message);
    for (size_t i = 0; status == DW_OK && !call->json && i < twins.count; i++) {
        char *title = dw_entry_title(call->book, dw_records_at(&twins, i));
        dw_tell(stdout, "Is it the same as %s, id %lld? 'deckwright book merge %s %lld %lld' makes them one.\n", title,
                (long long)dw_records_at(&twins, i)->id, record->entity->name, (long long)record->id,
                (long long)dw_records_at(&twins, i)->id);
        free(title);
    }
    if (status == DW_OK)
        dw_records_clear(&twins);
    return status;
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
        status = id ? dw_entry_change(call->book, record, NULL, message) : dw_entry_add(call->book, record, message);
    if (status == DW_OK)
        dw_book_call_print(call, record);
    if (status == DW_OK && !id)
        status = dw_book_call_print_twins(call, record, message);
    dw_record_clear(record);
    return status;
}

DwStatus dw_book_call_doubt(const DwBookCall *call, const DwRecord *record, DwMessage *message)
{
    const char *doubt = NULL;
    DwStatus status = call->sure ? DW_OK : dw_entry_doubt(call->book, record, &doubt, message);
    return status == DW_OK && doubt
               ? dw_fail(message, DW_BAD_INPUT, "%s Nothing was added. With --sure it is noted all the same.",
                         dw_said(doubt))
               : status;
}

DwStatus dw_book_call_add(DwBookCall *call, DwRecord *record, DwMessage *message)
{
    DwStatus status = dw_book_call_set(call, record, message);
    if (status == DW_OK)
        status = dw_book_call_doubt(call, record, message);
    if (status == DW_OK)
        status = dw_entry_add(call->book, record, message);
    if (status == DW_OK)
        dw_book_call_print(call, record);
    if (status == DW_OK)
        status = dw_book_call_print_twins(call, record, message);
    dw_record_clear(record);
    return status;
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
    if (status == DW_OK && call->json)
        printf("{\"%s\":", bill->entity->name);
    if (status == DW_OK)
        dw_book_call_print(call, bill);
    if (status == DW_OK && call->json)
        printf(",\"lines\":");
    if (status == DW_OK)
        dw_book_call_print_all(call, &records);
    if (status == DW_OK && call->json)
        puts("}");
    if (status == DW_OK && !call->json)
        status = print_totals(call, id, message);
    dw_records_clear(&records);
    dw_record_clear(bill);
    return status;
}
