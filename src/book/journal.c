// SPDX-License-Identifier: MIT
#include "book/journal.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/private.h"

#include <stdlib.h>

DwStatus dw_journal_add(DwBook *book, const char *entity, int64_t row, const char *field, const char *old_value,
                        const char *new_value, bool personal, DwMessage *message)
{
    char now[DW_MOMENT_SIZE];
    dw_book_now(book, now);
    DwQuery query = dw_query_begin(book, "INSERT INTO journal (at, who, entity, row_id, field, old_value, new_value, "
                                         "personal) VALUES (?, ?, ?, ?, ?, ?, ?, ?)");
    dw_query_bind_text(&query, now);
    dw_query_bind_text(&query, dw_book_actor(book));
    dw_query_bind_text(&query, entity);
    dw_query_bind_integer(&query, row);
    dw_query_bind_text(&query, field);
    dw_query_bind_text(&query, old_value);
    dw_query_bind_text(&query, new_value);
    dw_query_bind_integer(&query, personal);
    return dw_query_finish(&query, message);
}

DwStatus dw_journal_forget(DwBook *book, const DwEntity *entity, const char *where, int64_t id, DwMessage *message)
{
    char *sql = dw_text_format("UPDATE journal SET old_value = iif(old_value = '', '', '" DW_JOURNAL_ERASED "'), "
                               "new_value = iif(new_value = '', '', '" DW_JOURNAL_ERASED "') "
                               "WHERE personal = 1 AND entity = '%s' AND row_id IN (SELECT id FROM %s WHERE %s)",
                               entity->name, entity->name, where);
    DwQuery query = dw_query_begin(book, sql);
    dw_query_bind_integer(&query, id);
    DwStatus status = dw_query_finish(&query, message);
    free(sql);
    return status;
}

DwStatus dw_journal_read(DwBook *book, const char *entity, int64_t row, size_t most, DwJournal *journal,
                         DwMessage *message)
{
    DwQuery query = dw_query_begin(
        book, "SELECT * FROM (SELECT id, at, who, entity, row_id, field, old_value, new_value FROM journal "
              "WHERE (?1 IS NULL OR entity = ?1) AND (?2 = 0 OR row_id = ?2) ORDER BY id DESC LIMIT ?3) ORDER BY id");
    dw_query_bind_text(&query, entity);
    dw_query_bind_integer(&query, row);
    dw_query_bind_integer(&query, most ? (int64_t)most : -1);
    DwJournal read = {0};
    size_t room = 0;
    while (dw_query_step(&query)) {
        if (read.count == room) {
            room = room ? room * 2 : 16;
            read.lines = dw_memory_resize(read.lines, room, sizeof *read.lines);
        }
        read.lines[read.count++] = (DwJournalLine){
            .id = dw_query_integer(&query, 0),
            .at = dw_memory_text(dw_query_text(&query, 1)),
            .who = dw_memory_text(dw_query_text(&query, 2)),
            .entity = dw_memory_text(dw_query_text(&query, 3)),
            .row = dw_query_integer(&query, 4),
            .field = dw_memory_text(dw_query_text(&query, 5)),
            .old_value = dw_memory_text(dw_query_text(&query, 6)),
            .new_value = dw_memory_text(dw_query_text(&query, 7)),
        };
    }
    DwStatus status = dw_query_end(&query, message);
    if (status == DW_OK)
        *journal = read;
    else
        dw_journal_clear(&read);
    return status;
}

void dw_journal_clear(DwJournal *journal)
{
    for (size_t i = 0; i < journal->count; i++) {
        DwJournalLine *line = &journal->lines[i];
        char *const texts[] = {line->at, line->who, line->entity, line->field, line->old_value, line->new_value};
        for (size_t t = 0; t < sizeof texts / sizeof *texts; t++)
            free(texts[t]);
    }
    free(journal->lines);
    *journal = (DwJournal){0};
}
