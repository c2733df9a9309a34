// SPDX-License-Identifier: MIT
// Records of any kind from the command line: listed, added, changed.
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
