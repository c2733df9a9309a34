// SPDX-License-Identifier: MIT
#include "book/store/journal.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/store/private.h"

#include <stdlib.h>
#include <string.h>

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
    // What went into one of them is theirs as well, however often, unless it stands in the book again.
    char *more = entity->merges ? dw_text_format("UNION SELECT journal.row_id FROM mine JOIN journal ON entity = '%s' "
                                                 "AND field = '' AND new_value = '" DW_JOURNAL_MERGED "' || mine.id "
                                                 "WHERE row_id NOT IN (SELECT id FROM %s)",
                                                 entity->name, entity->name)
                                : dw_memory_text("");
    char *sql = dw_text_format("UPDATE journal SET old_value = iif(old_value = '', '', '" DW_JOURNAL_ERASED "'), "
                               "new_value = iif(new_value = '', '', '" DW_JOURNAL_ERASED "') "
                               "WHERE personal = 1 AND entity = '%s' AND row_id IN (WITH RECURSIVE mine (id) AS "
                               "(SELECT id FROM %s WHERE %s %s) SELECT id FROM mine)",
                               entity->name, entity->name, where, more);
    DwQuery query = dw_query_begin(book, sql);
    dw_query_bind_integer(&query, id);
    DwStatus status = dw_query_finish(&query, message);
    free(sql);
    free(more);
    return status;
}

DwStatus dw_journal_forget_value(DwBook *book, const DwEntity *entity, int64_t row, const char *value,
                                 DwMessage *message)
{
    DwQuery query = dw_query_begin(
        book, "UPDATE journal SET old_value = iif(instr(lower(old_value), lower(?1)), '" DW_JOURNAL_ERASED
              "', old_value), new_value = iif(instr(lower(new_value), lower(?1)), '" DW_JOURNAL_ERASED
              "', new_value) WHERE personal = 1 AND entity = ?2 AND row_id = ?3 AND (instr(lower(old_value), "
              "lower(?1)) OR instr(lower(new_value), lower(?1)))");
    dw_query_bind_text(&query, value);
    dw_query_bind_text(&query, entity->name);
    dw_query_bind_integer(&query, row);
    return dw_query_finish(&query, message);
}

#define COLUMNS "id, at, who, entity, row_id, field, old_value, new_value"

// Reads the lines that QUERY, whose values are bound, gives in COLUMNS, and ends it.
static DwStatus read_lines(DwQuery *query, DwJournal *journal, DwMessage *message)
{
    DwJournal read = {0};
    size_t room = 0;
    while (dw_query_step(query)) {
        if (read.count == room) {
            room = room ? room * 2 : 16;
            read.lines = dw_memory_resize(read.lines, room, sizeof *read.lines);
        }
        read.lines[read.count++] = (DwJournalLine){
            .id = dw_query_integer(query, 0),
            .at = dw_memory_text(dw_query_text(query, 1)),
            .who = dw_memory_text(dw_query_text(query, 2)),
            .entity = dw_memory_text(dw_query_text(query, 3)),
            .row = dw_query_integer(query, 4),
            .field = dw_memory_text(dw_query_text(query, 5)),
            .old_value = dw_memory_text(dw_query_text(query, 6)),
            .new_value = dw_memory_text(dw_query_text(query, 7)),
        };
    }
    DwStatus status = dw_query_end(query, message);
    if (status == DW_OK)
        *journal = read;
    else
        dw_journal_clear(&read);
    return status;
}

DwStatus dw_journal_read(DwBook *book, const char *entity, int64_t row, size_t most, DwJournal *journal,
                         DwMessage *message)
{
    // Only what is asked for stands in the question: so it is found by the index, however long the journal is.
    char *sql = dw_text_format("SELECT * FROM (SELECT " COLUMNS " FROM journal WHERE %s AND %s ORDER BY id DESC "
                               "LIMIT ?3) ORDER BY id",
                               entity ? "entity = ?1" : "?1 IS NULL", row ? "row_id = ?2" : "?2 = 0");
    DwQuery query = dw_query_begin(book, sql);
    free(sql);
    dw_query_bind_text(&query, entity);
    dw_query_bind_integer(&query, row);
    dw_query_bind_integer(&query, most ? (int64_t)most : -1);
    return read_lines(&query, journal, message);
}

DwStatus dw_journal_between(DwBook *book, int64_t first, int64_t last, DwJournal *journal, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, "SELECT " COLUMNS " FROM journal WHERE id BETWEEN ? AND ? ORDER BY id");
    dw_query_bind_integer(&query, first);
    dw_query_bind_integer(&query, last);
    return read_lines(&query, journal, message);
}

// Writes the SQL for the ids of ENTITY's rows that hang on job ?1; false when none can.
static bool add_rows_of_job(DwText *sql, const DwEntity *entity)
{
    if (strcmp(entity->name, "job") == 0) {
        dw_text_add(sql, "SELECT ?1");
        return true;
    }
    for (size_t i = 0; i < entity->field_count; i++) {
        const DwField *field = &entity->fields[i];
        DwText of = {0};
        bool hangs = field->kind == DW_FIELD_REFERENCE && (field->required || strcmp(field->refers, "job") == 0) &&
                     strcmp(field->key, "warranty_of_id") != 0 && add_rows_of_job(&of, dw_entity_find(field->refers));
        if (hangs) // rows that are gone are known by what the journal kept of them
            dw_text_add(sql,
                        "SELECT id FROM %s WHERE %s IN (%s) UNION SELECT row_id FROM journal WHERE entity = '%s' AND "
                        "field = '%s' AND CAST(old_value AS INTEGER) IN (%s)",
                        entity->name, field->key, of.chars, entity->name, field->key, of.chars);
        dw_text_clear(&of);
        if (hangs)
            return true;
    }
    return false;
}

DwStatus dw_journal_of_job(DwBook *book, int64_t job, size_t most, DwJournal *journal, DwMessage *message)
{
    DwText sql = {0};
    // Kind by kind, so that each finds its lines by the index, however long the journal is.
    dw_text_add(&sql, "SELECT * FROM (SELECT " COLUMNS " FROM journal WHERE id IN (");
    bool begun = false;
    const DwEntity *entity;
    for (size_t i = 0; (entity = dw_entity_at(i)); i++) {
        DwText rows = {0};
        if (!entity->quiet && add_rows_of_job(&rows, entity)) {
            dw_text_add(&sql, "%sSELECT id FROM journal WHERE entity = '%s' AND row_id IN (%s)",
                        begun ? " UNION ALL " : "", entity->name, rows.chars);
            begun = true;
        }
        dw_text_clear(&rows);
    }
    dw_text_add(&sql, ") ORDER BY id DESC LIMIT ?2) ORDER BY id");
    DwQuery query = dw_query_begin(book, sql.chars);
    dw_query_bind_integer(&query, job);
    dw_query_bind_integer(&query, most ? (int64_t)most : -1);
    DwStatus status = read_lines(&query, journal, message);
    dw_text_clear(&sql);
    return status;
}

DwStatus dw_journal_line(DwBook *book, int64_t line, DwJournal *journal, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, "SELECT " COLUMNS " FROM journal WHERE id = ?");
    dw_query_bind_integer(&query, line);
    DwJournal found;
    DwStatus status = read_lines(&query, &found, message);
    if (status != DW_OK)
        return status;
    if (found.count == 0)
        return dw_fail(message, DW_BAD_INPUT, "The journal has no line %lld.", (long long)line);
    *journal = found;
    return DW_OK;
}

DwStatus dw_journal_newest(DwBook *book, int64_t *line, DwMessage *message)
{
    return dw_query_number(book, "SELECT coalesce(max(id), 0) FROM journal", 0, line, message);
}

DwStatus dw_journal_since(DwBook *book, int64_t after, const char *entity, int64_t row, DwJournalSpan *span,
                          DwMessage *message)
{
    DwQuery query = dw_query_begin(book, "SELECT coalesce(min(id), 0), coalesce(max(id), 0) FROM journal "
                                         "WHERE id > ? AND entity = ? AND row_id = ?");
    dw_query_bind_integer(&query, after);
    dw_query_bind_text(&query, entity);
    dw_query_bind_integer(&query, row);
    DwJournalSpan found = {0};
    if (dw_query_step(&query))
        found = (DwJournalSpan){dw_query_integer(&query, 0), dw_query_integer(&query, 1)};
    DwStatus status = dw_query_end(&query, message);
    if (status == DW_OK)
        *span = found;
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
