// SPDX-License-Identifier: MIT
#include "book/store/book.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/store/private.h"
#include "book/shop/settings.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// How long one program waits for another's change, and how often it asks anew
// for what SQLite's own waiting does not cover.
enum { BUSY_MILLISECONDS = 10000, BUSY_TRIES = 200, BUSY_PAUSE = 50 };

DwStatus dw_book_connect(const char *path, int flags, sqlite3 **database, DwMessage *message)
{
    sqlite3 *opened = NULL;
    int code = sqlite3_open_v2(path, &opened, flags, NULL);
    if (code == SQLITE_OK) {
        sqlite3_extended_result_codes(opened, 1);
        sqlite3_busy_timeout(opened, BUSY_MILLISECONDS);
        sqlite3_db_config(opened, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
        code = sqlite3_exec(opened,
                            "PRAGMA foreign_keys = ON; PRAGMA synchronous = FULL; PRAGMA secure_delete = ON; "
                            "PRAGMA cell_size_check = ON",
                            NULL, NULL, NULL);
    }
    if (code != SQLITE_OK) {
        DwStatus status = dw_query_fail(opened, code, message);
        sqlite3_close(opened);
        return status;
    }
    *database = opened;
    return DW_OK;
}

// Makes what is missing of FOLDER, with nothing readable by others.
static DwStatus prepare_folder(const char *folder, const char *path, DwMessage *message)
{
    char *attachments = dw_text_format("%s/attachments", folder);
    int error = dw_file_make_folder(folder);
    if (!error)
        error = dw_file_make_folder(attachments);
    free(attachments);
    if (!error) {
        int handle = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
        error = handle < 0 ? errno : 0;
        if (handle >= 0)
            close(handle);
    }
    if (error)
        return dw_fail(message, DW_FAILED, "The job book %s cannot be opened: %s.", folder, strerror(error));
    // A folder or file that came from elsewhere may be open to all; a failure
    // means that somebody else owns it, and `book check` says so.
    struct stat status;
    if (stat(folder, &status) == 0 && (status.st_mode & 077))
        chmod(folder, 0700);
    if (stat(path, &status) == 0 && (status.st_mode & 077))
        chmod(path, 0600);
    return DW_OK;
}

// Before anything is written: is this a job book, and one this program can read?
static DwStatus check_version(DwBook *book, DwMessage *message)
{
    int64_t version = 0, application = 0, tables = 0;
    DwStatus status = dw_query_number(book, "PRAGMA user_version", 0, &version, message);
    if (status == DW_OK)
        status = dw_query_number(book, "PRAGMA application_id", 0, &application, message);
    if (status == DW_OK && version > dw_schema_version() && application == DW_BOOK_APPLICATION)
        return dw_fail(message, DW_BAD_INPUT,
                       "%s was written by a newer Deckwright (version %lld of the book; this program knows up to %d). "
                       "Update the program; nothing was changed.",
                       book->folder, (long long)version, dw_schema_version());
    if (status == DW_OK)
        status = dw_query_number(book, "SELECT count(*) FROM sqlite_schema", 0, &tables, message);
    if (status == DW_OK && application != DW_BOOK_APPLICATION && tables > 0)
        return dw_fail(message, DW_BAD_INPUT, "%s/book.sqlite is not a job book. Choose another folder.", book->folder);
    return status;
}

static DwStatus set_journal_mode(DwBook *book, DwMessage *message)
{
    int code = SQLITE_BUSY;
    for (int i = 0; i < BUSY_TRIES && (code & 0xff) == SQLITE_BUSY; i++) {
        if (i)
            sqlite3_sleep(BUSY_PAUSE);
        code = sqlite3_exec(book->database, "PRAGMA journal_mode = WAL", NULL, NULL, NULL);
    }
    return code == SQLITE_OK ? DW_OK : dw_query_fail(book->database, code, message);
}

DwStatus dw_book_open(const char *folder, DwBook **book, DwMessage *message)
{
    DwBook *opened = dw_memory_new(1, sizeof *opened);
    opened->folder = dw_memory_text(folder);
    opened->actor = dw_memory_text("counter");
    opened->amount_digits = 2;
    char *path = dw_text_format("%s/book.sqlite", folder);
    DwStatus status = prepare_folder(folder, path, message);
    if (status == DW_OK)
        status = dw_book_connect(path, SQLITE_OPEN_READWRITE, &opened->database, message);
    free(path);
    if (status == DW_OK)
        status = check_version(opened, message);
    if (status == DW_OK)
        status = set_journal_mode(opened, message);
    if (status == DW_OK)
        status = dw_schema_migrate(opened, message);
    if (status == DW_OK)
        opened->amount_digits = (int)dw_settings_integer(opened, "money.digits");
    if (status == DW_OK)
        *book = opened;
    else
        dw_book_close(opened);
    return status;
}

void dw_book_close(DwBook *book)
{
    if (!book)
        return;
    sqlite3_close(book->database);
    free(book->folder);
    free(book->actor);
    free(book);
}

void dw_book_set_actor(DwBook *book, const char *actor)
{
    dw_field_replace(&book->actor, actor);
}

void dw_book_set_away(DwBook *book, bool away)
{
    book->away = away;
}

const char *dw_book_actor(const DwBook *book)
{
    return book->actor;
}

void dw_book_set_now(DwBook *book, const char *moment)
{
    snprintf(book->now, sizeof book->now, "%s", moment ? moment : "");
}

void dw_book_now(const DwBook *book, char moment[DW_MOMENT_SIZE])
{
    if (*book->now)
        memcpy(moment, book->now, DW_MOMENT_SIZE);
    else
        dw_moment_now(moment);
}

void dw_book_today(const DwBook *book, char date[DW_DATE_SIZE])
{
    char now[DW_MOMENT_SIZE];
    dw_book_now(book, now);
    dw_moment_day(now, date);
}

const char *dw_book_folder(const DwBook *book)
{
    return book->folder;
}

DwStatus dw_book_begin(DwBook *book, DwMessage *message)
{
    if (book->depth == 0) {
        DwStatus status = dw_query_run(book, "BEGIN IMMEDIATE", message);
        if (status != DW_OK)
            return status;
        book->broken = false;
    }
    book->depth++;
    return DW_OK;
}

static void roll_back(DwBook *book)
{
    // A full disk or a broken file may have undone the change already.
    if (!sqlite3_get_autocommit(book->database))
        sqlite3_exec(book->database, "ROLLBACK", NULL, NULL, NULL);
}

DwStatus dw_book_end(DwBook *book, DwStatus status, DwMessage *message)
{
    book->depth--;
    if (status != DW_OK)
        book->broken = true;
    if (book->depth > 0)
        return status;
    if (status == DW_OK && book->broken)
        status = dw_fail(message, DW_FAILED, "A part of the change failed; nothing of it was kept.");
    if (status == DW_OK)
        status = dw_query_run(book, "COMMIT", message);
    if (status != DW_OK)
        roll_back(book);
    return status;
}
