// SPDX-License-Identifier: MIT
// A seal for each row of the book: a digest of its values as they were when a change was kept. SQLite holds its pages
// together but does not look into them: a letter or a number that the disk changed shows only here.
//
// The seals are written with the rows, in the same change. They stand outside the versions of the book's shape
// (schema.c): a book without them, which an earlier program made, gets them when it is opened.
#include "base/memory.h"
#include "base/text.h"
#include "book/store/private.h"

#include <assert.h>
#include <sodium.h>
#include <stdlib.h>
#include <string.h>

// Tables of rows with numbers. The index for searching checks itself; SQLite's own tables stand below.
#define SEALED_TABLES                                                                                                  \
    "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'search%' AND name NOT LIKE 'sqlite_%' "    \
    "AND name <> 'seal' ORDER BY name"

// What is sealed as a whole, under a name of its own.
static const struct {
    const char *name, *sql;
} wholes[] = {
    {"shape of the book", "SELECT type, name, tbl_name, sql FROM sqlite_schema ORDER BY name"},
    {"kind of the book",
     "SELECT application_id, user_version, encoding FROM pragma_application_id, pragma_user_version, "
     "pragma_encoding"},
};

static void add_bytes(crypto_generichash_state *state, char kind, const void *bytes, size_t length)
{
    uint64_t size = length;
    crypto_generichash_update(state, (const unsigned char *)&kind, 1);
    crypto_generichash_update(state, (const unsigned char *)&size, sizeof size);
    if (length)
        crypto_generichash_update(state, bytes, length);
}

static void add_value(crypto_generichash_state *state, sqlite3_stmt *statement, int column)
{
    sqlite3_int64 integer;
    double real;
    switch (sqlite3_column_type(statement, column)) {
    case SQLITE_INTEGER:
        integer = sqlite3_column_int64(statement, column);
        add_bytes(state, 'i', &integer, sizeof integer);
        break;
    case SQLITE_FLOAT:
        real = sqlite3_column_double(statement, column);
        add_bytes(state, 'r', &real, sizeof real);
        break;
    case SQLITE_NULL:
        add_bytes(state, 'n', NULL, 0);
        break;
    default: // text and blobs
        add_bytes(state, 't', sqlite3_column_blob(statement, column), (size_t)sqlite3_column_bytes(statement, column));
        break;
    }
}

// The digest of the columns of the present row from FIRST on.
static void add_row(crypto_generichash_state *state, sqlite3_stmt *statement, int first)
{
    for (int i = first; i < sqlite3_column_count(statement); i++)
        add_value(state, statement, i);
}

static void begin_digest(crypto_generichash_state *state)
{
    int ready = sodium_init();
    assert(ready >= 0);
    (void)ready;
    crypto_generichash_init(state, NULL, 0, crypto_generichash_BYTES_MIN);
}

static int64_t end_digest(crypto_generichash_state *state)
{
    unsigned char digest[crypto_generichash_BYTES_MIN];
    int64_t number;
    crypto_generichash_final(state, digest, sizeof digest);
    memcpy(&number, digest, sizeof number);
    return number;
}

static int64_t digest_of_row(sqlite3_stmt *statement, int first)
{
    crypto_generichash_state state;
    begin_digest(&state);
    add_row(&state, statement, first);
    return end_digest(&state);
}

static DwStatus digest_of_whole(DwBook *book, const char *sql, int64_t *digest, DwMessage *message)
{
    crypto_generichash_state state;
    begin_digest(&state);
    DwQuery query = dw_query_begin(book, sql);
    while (dw_query_step(&query))
        add_row(&state, query.statement, 0);
    *digest = end_digest(&state);
    return dw_query_end(&query, message);
}

static DwStatus write_seal(DwBook *book, const char *name, int64_t row, int64_t digest, DwMessage *message)
{
    DwQuery query =
        dw_query_begin(book, "INSERT INTO seal VALUES (?, ?, ?) ON CONFLICT DO UPDATE SET digest = excluded.digest");
    dw_query_bind_text(&query, name);
    dw_query_bind_integer(&query, row);
    dw_query_bind_integer(&query, digest);
    return dw_query_finish(&query, message);
}

static DwStatus seal_wholes(DwBook *book, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 0; i < sizeof wholes / sizeof *wholes && status == DW_OK; i++) {
        int64_t digest;
        status = digest_of_whole(book, wholes[i].sql, &digest, message);
        if (status == DW_OK)
            status = write_seal(book, wholes[i].name, 0, digest, message);
    }
    return status;
}

// Seals the row, or takes its seal away when it is gone.
static DwStatus seal_row(DwBook *book, const char *table, int64_t row, DwMessage *message)
{
    char *sql = dw_text_format("SELECT * FROM \"%s\" WHERE rowid = ?", table);
    DwQuery query = dw_query_begin(book, sql);
    dw_query_bind_integer(&query, row);
    bool there = dw_query_step(&query);
    int64_t digest = there ? digest_of_row(query.statement, 0) : 0;
    DwStatus status = dw_query_end(&query, message);
    free(sql);
    if (status != DW_OK || there)
        return status == DW_OK ? write_seal(book, table, row, digest, message) : status;
    DwQuery removal = dw_query_begin(book, "DELETE FROM seal WHERE name = ? AND row = ?");
    dw_query_bind_text(&removal, table);
    dw_query_bind_integer(&removal, row);
    return dw_query_finish(&removal, message);
}

static DwStatus seal_table(DwBook *book, const char *table, DwMessage *message)
{
    DwStatus status = DW_OK;
    char *sql = dw_text_format("SELECT rowid, * FROM \"%s\"", table);
    DwQuery query = dw_query_begin(book, sql);
    while (status == DW_OK && dw_query_step(&query))
        status = write_seal(book, table, dw_query_integer(&query, 0), digest_of_row(query.statement, 1), message);
    DwStatus ended = dw_query_end(&query, message);
    free(sql);
    return status == DW_OK ? ended : status;
}

DwStatus dw_seal_all(DwBook *book, DwMessage *message)
{
    DwStatus status =
        dw_query_run(book,
                     "DROP TABLE IF EXISTS seal; CREATE TABLE seal (name TEXT NOT NULL, row INTEGER NOT NULL, "
                     "digest INTEGER NOT NULL, PRIMARY KEY (name, row)) STRICT, WITHOUT ROWID",
                     message);
    DwQuery tables = dw_query_begin(book, SEALED_TABLES);
    while (status == DW_OK && dw_query_step(&tables))
        status = seal_table(book, dw_query_text(&tables, 0), message);
    DwStatus ended = dw_query_end(&tables, message);
    if (status == DW_OK)
        status = ended == DW_OK ? seal_wholes(book, message) : ended;
    book->change_count = 0; // all of it is sealed
    return status;
}

DwStatus dw_seal_is_there(DwBook *book, bool *there, DwMessage *message)
{
    int64_t count = 0;
    DwStatus status =
        dw_query_number(book, "SELECT count(*) FROM sqlite_schema WHERE name = 'seal'", 0, &count, message);
    *there = count;
    return status;
}

// --- changes ------------------------------------------------------------------

static void note_change(void *opaque, int act, const char *database, const char *table, sqlite3_int64 row)
{
    (void)act;
    (void)database;
    DwBook *book = opaque;
    if (strncmp(table, "search", 6) == 0 || strncmp(table, "sqlite_", 7) == 0)
        return;
    const DwSealChange *last = book->change_count ? &book->changes[book->change_count - 1] : NULL;
    if (last && last->row == row && strcmp(last->table, table) == 0)
        return;
    if (book->change_count == book->change_room) {
        book->change_room = book->change_room * 2 + 64;
        book->changes = dw_memory_resize(book->changes, book->change_room, sizeof *book->changes);
    }
    DwSealChange *change = &book->changes[book->change_count++];
    assert(strlen(table) < sizeof change->table);
    strcpy(change->table, table);
    change->row = row;
}

void dw_seal_watch(DwBook *book)
{
    book->change_count = 0;
    sqlite3_update_hook(book->database, note_change, book);
}

DwStatus dw_seal_changes(DwBook *book, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 0; i < book->change_count && status == DW_OK; i++)
        status = seal_row(book, book->changes[i].table, book->changes[i].row, message);
    book->change_count = 0;
    return status;
}

// --- the check ------------------------------------------------------------------

// The rows of TABLE beside its seals, both in order.
static DwStatus compare_table(DwBook *book, const char *table, DwSealTell *tell, void *user, DwMessage *message)
{
    char *sql = dw_text_format("SELECT rowid, * FROM \"%s\" ORDER BY rowid", table);
    DwQuery rows = dw_query_begin(book, sql),
            seals = dw_query_begin(book, "SELECT row, digest FROM seal WHERE name = ? ORDER BY row");
    dw_query_bind_text(&seals, table);
    bool row = dw_query_step(&rows), seal = dw_query_step(&seals);
    while (row || seal) {
        int64_t number = row ? dw_query_integer(&rows, 0) : INT64_MAX,
                sealed = seal ? dw_query_integer(&seals, 0) : INT64_MAX;
        if (number != sealed || digest_of_row(rows.statement, 1) != dw_query_integer(&seals, 1))
            tell(user, table, number < sealed ? number : sealed);
        bool step_row = row && number <= sealed, step_seal = seal && sealed <= number;
        row = step_row ? dw_query_step(&rows) : row;
        seal = step_seal ? dw_query_step(&seals) : seal;
    }
    DwStatus first = dw_query_end(&rows, message), second = dw_query_end(&seals, message);
    free(sql);
    return first == DW_OK ? second : first;
}

static DwStatus compare_wholes(DwBook *book, DwSealTell *tell, void *user, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 0; i < sizeof wholes / sizeof *wholes && status == DW_OK; i++) {
        int64_t digest;
        status = digest_of_whole(book, wholes[i].sql, &digest, message);
        if (status != DW_OK)
            return status;
        DwQuery query = dw_query_begin(book, "SELECT 1 FROM seal WHERE name = ? AND row = 0 AND digest = ?");
        dw_query_bind_text(&query, wholes[i].name);
        dw_query_bind_integer(&query, digest);
        if (!dw_query_step(&query))
            tell(user, wholes[i].name, 0);
        status = dw_query_end(&query, message);
    }
    return status;
}

DwStatus dw_seal_check(DwBook *book, DwSealTell *tell, void *user, DwMessage *message)
{
    DwStatus status = compare_wholes(book, tell, user, message);
    DwQuery tables = dw_query_begin(book, SEALED_TABLES);
    int64_t known = sizeof wholes / sizeof *wholes, all = 0;
    while (status == DW_OK && dw_query_step(&tables)) {
        const char *table = dw_query_text(&tables, 0);
        status = compare_table(book, table, tell, user, message);
        DwQuery own = dw_query_begin(book, "SELECT count(*) FROM seal WHERE name = ?");
        dw_query_bind_text(&own, table);
        known += dw_query_step(&own) ? dw_query_integer(&own, 0) : 0;
        DwStatus ended = dw_query_end(&own, message);
        status = status == DW_OK ? ended : status;
    }
    DwStatus ended = dw_query_end(&tables, message);
    if (status == DW_OK)
        status = ended == DW_OK ? dw_query_number(book, "SELECT count(*) FROM seal", 0, &all, message) : ended;
    if (status == DW_OK && all != known)
        tell(user, "seal", 0);
    return status;
}
