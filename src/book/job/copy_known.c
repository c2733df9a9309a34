// SPDX-License-Identifier: MIT
#include "book/job/copy_known.h"

#include "base/sheet_json.h"
#include "book/store/private.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { COPY, BALANCE, BALANCE_OFF, TONE, TONE_OFF, COLUMNS };

// What SHEET says of the copy called NAME. Returned: whether it names it.
static bool take_from(const DwSheet *sheet, const char *name, DwCopyKnown *known)
{
    const DwTable *table = dw_sheet_table(sheet, "pressing.known");
    for (size_t row = 0; table && table->column_count >= COLUMNS && row < table->row_count; row++) {
        const char *copy = dw_table_cell(table, row, COPY)->word;
        if (!copy || strcmp(copy, name) != 0)
            continue;
        known->balance_db =
            (DwCopyValue){dw_table_cell(table, row, BALANCE)->number, dw_table_cell(table, row, BALANCE_OFF)->number};
        known->tone_ppm =
            (DwCopyValue){dw_table_cell(table, row, TONE)->number, dw_table_cell(table, row, TONE_OFF)->number};
        return true;
    }
    return false;
}

DwStatus dw_copy_known_find(DwBook *book, const char *name, DwCopyKnown *known, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, "SELECT at, sheet FROM measurement WHERE procedure = 'pressing' AND "
                                         "withdrawn_at IS NULL ORDER BY at DESC, id DESC");
    *known = (DwCopyKnown){.balance_db = {NAN, NAN}, .tone_ppm = {NAN, NAN}};
    bool found = false;
    while (!found && dw_query_step(&query)) {
        DwMessage unread;
        DwSheet *sheet = NULL;
        if (dw_sheet_json_read(dw_query_text(&query, 1), &sheet, &unread) != DW_OK)
            continue;
        found = take_from(sheet, name, known);
        if (found)
            snprintf(known->day, sizeof known->day, "%.10s", dw_query_text(&query, 0));
        dw_sheet_free(sheet);
    }
    return dw_query_end(&query, message);
}
