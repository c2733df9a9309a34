// SPDX-License-Identifier: MIT
#include "book/store/private.h"

#include "base/text.h"
#include "base/tongue.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// The fields that are to be one entry's alone, of "UNIQUE constraint failed: chain.name": "Name". The caller frees them
// with free().
static char *unique_fields(const char *error)
{
    const char *columns = strrchr(error, ':');
    DwText labels = {0};
    dw_text_add(&labels, "%s", "");
    char table[64], column[64];
    for (const char *at = columns; at && sscanf(at + 1, " %63[^.].%63[^,]", table, column) == 2;
         at = strchr(at + 1, ',')) {
        const DwEntity *entity = dw_entity_find(table);
        const DwField *field = entity ? dw_field_find(entity, column) : NULL;
        dw_text_add(&labels, "%s%s", labels.length ? ", " : "", dw_said(field ? field->label : "value"));
    }
    return dw_text_take(&labels);
}

static DwStatus constraint_failed(sqlite3 *database, int extended, DwMessage *message)
{
    if (extended == SQLITE_CONSTRAINT_TRIGGER) // the schema's own sentence
        return dw_fail(message, DW_BAD_INPUT, "%s", dw_said(sqlite3_errmsg(database)));
    if (extended == SQLITE_CONSTRAINT_UNIQUE) {
        char *fields = unique_fields(sqlite3_errmsg(database));
        DwStatus status =
            dw_fail(message, DW_BAD_INPUT, "Another entry has the same %s. Open that one, or give another.", fields);
        free(fields);
        return status;
    }
    if (extended == SQLITE_CONSTRAINT_FOREIGNKEY)
        return dw_fail(message, DW_BAD_INPUT,
                       "It refers to something that is not in the book. Check the numbers given.");
    return dw_fail(message, DW_BAD_INPUT, "The book does not take that: %s.", sqlite3_errmsg(database));
}

DwStatus dw_query_fail(sqlite3 *database, int code, DwMessage *message)
{
    switch (code & 0xff) {
    case SQLITE_CONSTRAINT:
        return constraint_failed(database, sqlite3_extended_errcode(database), message);
    case SQLITE_FULL:
        return dw_fail(message, DW_FAILED,
                       "The disk is full. This change was not kept; all earlier ones are. Free some "
                       "space and do it again.");
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return dw_fail(message, DW_FAILED,
                       "Another program is writing to the job book. Try again when it has finished.");
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
        return dw_fail(message, DW_FAILED, "The job book is damaged (%s). Keep the file and restore the last backup.",
                       sqlite3_errmsg(database));
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_CANTOPEN:
    case SQLITE_AUTH:
        return dw_fail(message, DW_FAILED, "The job book cannot be written (%s). Check who owns the folder.",
                       sqlite3_errmsg(database));
    default:
        return dw_fail(message, DW_FAILED, "The job book failed: %s. This change was not kept.",
                       sqlite3_errmsg(database));
    }
}

DwQuery dw_query_begin(DwBook *book, const char *sql)
{
    DwQuery query = {.book = book};
    query.code = sqlite3_prepare_v2(book->database, sql, -1, &query.statement, NULL);
    // What is written outside a change has no seal (seal.c).
    assert(!sqlite3_get_autocommit(book->database) || !query.statement || sqlite3_stmt_readonly(query.statement));
    return query;
}

void dw_query_bind_integer(DwQuery *query, int64_t value)
{
    query->bound++;
    if (query->code == SQLITE_OK)
        query->code = sqlite3_bind_int64(query->statement, query->bound, value);
}

void dw_query_bind_text(DwQuery *query, const char *text)
{
    query->bound++;
    if (query->code == SQLITE_OK)
        query->code = text ? sqlite3_bind_text(query->statement, query->bound, text, -1, SQLITE_STATIC)
                           : sqlite3_bind_null(query->statement, query->bound);
}

void dw_query_bind_real(DwQuery *query, double value)
{
    query->bound++;
    if (query->code == SQLITE_OK)
        query->code = isnan(value) ? sqlite3_bind_null(query->statement, query->bound)
                                   : sqlite3_bind_double(query->statement, query->bound, value);
}

bool dw_query_step(DwQuery *query)
{
    if (query->code != SQLITE_OK)
        return false;
    int code = sqlite3_step(query->statement);
    if (code == SQLITE_ROW)
        return true;
    query->code = code;
    return false;
}

int64_t dw_query_integer(const DwQuery *query, int column)
{
    return sqlite3_column_int64(query->statement, column);
}

double dw_query_real(const DwQuery *query, int column)
{
    return dw_query_is_nothing(query, column) ? NAN : sqlite3_column_double(query->statement, column);
}

bool dw_query_is_nothing(const DwQuery *query, int column)
{
    return sqlite3_column_type(query->statement, column) == SQLITE_NULL;
}

const char *dw_query_text(const DwQuery *query, int column)
{
    const unsigned char *text = sqlite3_column_text(query->statement, column);
    return text ? (const char *)text : "";
}

DwStatus dw_query_end(DwQuery *query, DwMessage *message)
{
    DwStatus status = DW_OK;
    if (query->code != SQLITE_OK && query->code != SQLITE_DONE)
        status = dw_query_fail(query->book->database, query->code, message);
    sqlite3_finalize(query->statement);
    query->statement = NULL;
    return status;
}

DwStatus dw_query_finish(DwQuery *query, DwMessage *message)
{
    while (dw_query_step(query))
        continue;
    return dw_query_end(query, message);
}

DwStatus dw_query_run(DwBook *book, const char *sql, DwMessage *message)
{
    int code = sqlite3_exec(book->database, sql, NULL, NULL, NULL);
    return code == SQLITE_OK ? DW_OK : dw_query_fail(book->database, code, message);
}

DwStatus dw_query_number(DwBook *book, const char *sql, int64_t id, int64_t *number, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, sql);
    for (int i = sqlite3_bind_parameter_count(query.statement); i > 0; i--)
        dw_query_bind_integer(&query, id);
    int64_t found = dw_query_step(&query) ? dw_query_integer(&query, 0) : 0;
    DwStatus status = dw_query_end(&query, message);
    if (status == DW_OK)
        *number = found;
    return status;
}
