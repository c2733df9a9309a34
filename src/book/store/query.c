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

// --- questions at rest -----------------------------------------------------------
// To prepare the questions of a page cost a third of it.

// FNV-1a, 32 bits (RFC 9923, section 5).
static uint32_t mark_of(const char *sql)
{
    uint32_t mark = 2166136261u;
    for (const unsigned char *at = (const unsigned char *)sql; *at; at++)
        mark = (mark ^ *at) * 16777619u;
    return mark;
}

// Only a plain question is the same whenever it is asked: a pragma may act while it is prepared.
static bool may_rest(const DwBook *book, const char *sql)
{
    return book->questions && sql && strncmp(sql, "SELECT ", 7) == 0;
}

// The statement of SQL that is at rest, which it is no longer then; NULL when there is none.
static sqlite3_stmt *take_rested(DwBook *book, const char *sql)
{
    DwBookQuestions *questions = book->questions;
    uint32_t mark = may_rest(book, sql) ? mark_of(sql) : 0;
    for (size_t i = 0; mark && i < questions->count; i++) {
        sqlite3_stmt *statement = questions->at_rest[i].statement;
        if (questions->at_rest[i].mark != mark || strcmp(sqlite3_sql(statement), sql) != 0)
            continue;
        questions->at_rest[i] = questions->at_rest[--questions->count];
        return statement;
    }
    return NULL;
}

static void lay_to_rest(DwBook *book, sqlite3_stmt *statement)
{
    DwBookQuestions *questions = book->questions;
    size_t place = questions->count;
    if (sqlite3_reset(statement) != SQLITE_OK || sqlite3_clear_bindings(statement) != SQLITE_OK) {
        sqlite3_finalize(statement);
        return;
    }
    if (place == DW_BOOK_QUESTIONS) {
        place = questions->oldest++ % DW_BOOK_QUESTIONS;
        sqlite3_finalize(questions->at_rest[place].statement);
    } else {
        questions->count++;
    }
    questions->at_rest[place].statement = statement;
    questions->at_rest[place].mark = mark_of(sqlite3_sql(statement));
}

void dw_query_forget(DwBook *book)
{
    for (size_t i = 0; book->questions && i < book->questions->count; i++)
        sqlite3_finalize(book->questions->at_rest[i].statement);
    free(book->questions);
    book->questions = NULL;
}

// --- asking ----------------------------------------------------------------------

DwQuery dw_query_begin(DwBook *book, const char *sql)
{
    DwQuery query = {.book = book, .statement = take_rested(book, sql)};
    if (!query.statement)
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

void dw_query_again(DwQuery *query)
{
    query->bound = 0;
    if (query->code == SQLITE_OK)
        query->code = sqlite3_reset(query->statement);
}

DwStatus dw_query_end(DwQuery *query, DwMessage *message)
{
    DwStatus status = DW_OK;
    if (query->code != SQLITE_OK && query->code != SQLITE_DONE)
        status = dw_query_fail(query->book->database, query->code, message);
    if (status == DW_OK && may_rest(query->book, sqlite3_sql(query->statement)))
        lay_to_rest(query->book, query->statement);
    else
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
