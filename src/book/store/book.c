// SPDX-License-Identifier: MIT
#include "book/store/book.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/store/folder.h"
#include "book/store/private.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

// How long one program waits for another's change, and how often it asks anew
// for what SQLite's own waiting does not cover.
enum { BUSY_MILLISECONDS = 10000, BUSY_TRIES = 200, BUSY_PAUSE = 50 };

// Returns SQLite's code; *DATABASE is to be closed whatever it is.
static int connect(const char *path, int flags, sqlite3 **database)
{
    // What can only be read is named by an address (reading.c).
    bool fixed = strncmp(path, "file:///", 8) == 0;
    int code = sqlite3_open_v2(path, database, fixed ? SQLITE_OPEN_READONLY | SQLITE_OPEN_URI : flags, NULL);
    if (code != SQLITE_OK)
        return code;
    sqlite3_extended_result_codes(*database, 1);
    sqlite3_busy_timeout(*database, BUSY_MILLISECONDS);
    sqlite3_db_config(*database, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
    return sqlite3_exec(*database,
                        "PRAGMA foreign_keys = ON; PRAGMA synchronous = FULL; PRAGMA secure_delete = ON; "
                        "PRAGMA cell_size_check = ON",
                        NULL, NULL, NULL);
}

DwStatus dw_book_connect(const char *path, int flags, sqlite3 **database, DwMessage *message)
{
    sqlite3 *opened = NULL;
    int code = connect(path, flags, &opened);
    if (code != SQLITE_OK) {
        DwStatus status = dw_query_fail(opened, code, message);
        sqlite3_close(opened);
        return status;
    }
    *database = opened;
    return DW_OK;
}

// Makes what is missing of FOLDER, with nothing readable by others.
static DwStatus prepare_folder(const char *folder, DwMessage *message)
{
    char *attachments = dw_text_format("%s/attachments", folder), *database = dw_text_format("%s/book.sqlite", folder);
    int error = dw_file_make_folders(folder);
    if (!error)
        error = dw_file_make_folder(attachments);
    // A folder or file that came from elsewhere may be open to all; a failure
    // means that somebody else owns it, and `book check` says so.
    struct stat status;
    if (!error && stat(folder, &status) == 0 && (status.st_mode & 077))
        chmod(folder, 0700);
    if (!error && stat(database, &status) == 0 && S_ISREG(status.st_mode) && (status.st_mode & 077))
        chmod(database, 0600);
    free(attachments);
    free(database);
    return error ? dw_fail(message, DW_FAILED, "The job book %s cannot be opened: %s.", folder, strerror(error))
                 : DW_OK;
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
    if (status == DW_OK && (application != DW_BOOK_APPLICATION || version < 1))
        return dw_folder_refuse(
            book->folder, tables > 0 ? N_("is another program's database") : N_("is a database without anything in it"),
            message);
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

// Notes which files are the book's, to know later whether they still are.
static void note_files(DwBook *book)
{
    static const char *const names[] = {"book.sqlite", "book.sqlite-wal"};
    for (size_t i = 0; i < 2; i++) {
        char *path = dw_text_format("%s/%s", book->folder, names[i]);
        struct stat status = {0};
        bool there = stat(path, &status) == 0;
        book->files[i] = there ? (DwBookFile){status.st_dev, status.st_ino} : (DwBookFile){0};
        free(path);
    }
}

static bool has_its_files(const DwBook *book)
{
    DwBook now = {.folder = book->folder};
    note_files(&now);
    for (size_t i = 0; i < 2; i++)
        if (now.files[i].disk != book->files[i].disk || now.files[i].number != book->files[i].number)
            return false;
    return true;
}

static DwStatus gone(DwMessage *message)
{
    return dw_fail(
        message, DW_FAILED,
        "The job book's files were removed or exchanged while this program had them open. Nothing of this was "
        "kept. End every deckwright that has the book, then run 'deckwright book check'.");
}

char *dw_book_mark(const DwBook *book)
{
    if (book->fixed)
        return dw_memory_text("");
    return dw_text_format("%llu:%llu %llu:%llu", (unsigned long long)book->files[0].disk,
                          (unsigned long long)book->files[0].number, (unsigned long long)book->files[1].disk,
                          (unsigned long long)book->files[1].number);
}

// A bench keeps the files open that it opened. When others have their names now, what it kept is not what
// this program would see, and nothing may be said of the book before it has ended.
static DwStatus check_bench(const char *folder, DwMessage *message)
{
    char where[DW_HOLD_TEXT], mark[DW_HOLD_TEXT];
    if (!dw_hold_find_bench(folder, where, mark) || !*mark)
        return DW_OK;
    DwBook now = {.folder = (char *)folder};
    note_files(&now);
    char *mine = dw_book_mark(&now);
    bool same = strcmp(mine, mark) == 0;
    free(mine);
    return same ? DW_OK
                : dw_fail(message, DW_FAILED,
                          "The files of %s were removed or exchanged under the running bench (%s). End it, then run "
                          "'deckwright book check'.",
                          folder, where);
}

static DwStatus read_digits(DwBook *book, DwMessage *message)
{
    int64_t digits = DW_BOOK_USUAL_DIGITS;
    DwStatus status =
        dw_query_number(book, "SELECT coalesce((SELECT value FROM setting WHERE key = '" DW_BOOK_DIGITS_KEY "'), ?)",
                        DW_BOOK_USUAL_DIGITS, &digits, message);
    book->amount_digits = (int)digits;
    return status;
}

static DwStatus damaged(const DwBook *book, DwMessage *message)
{
    char *advice = dw_folder_advice(book->folder);
    DwStatus status = dw_fail(message, DW_FAILED, "%s/book.sqlite is damaged (%s). %s", book->folder,
                              sqlite3_errmsg(book->database), advice);
    free(advice);
    return status;
}

static DwStatus connect_book(DwBook *book, DwMessage *message)
{
    int code = connect(book->source, SQLITE_OPEN_READWRITE, &book->database);
    DwStatus status = code == SQLITE_OK ? check_version(book, message) : dw_query_fail(book->database, code, message);
    code = sqlite3_errcode(book->database) & 0xff;
    return status == DW_FAILED && (code == SQLITE_CORRUPT || code == SQLITE_NOTADB) ? damaged(book, message) : status;
}

static void disconnect(DwBook *book)
{
    dw_query_forget(book);
    sqlite3_close(book->database);
    book->database = NULL;
    dw_hold_end(book->hold);
    book->hold = NULL;
}

// A new book is made under another name: book.sqlite is there whole or not at all. Only whoever has
// the folder alone comes here.
static DwStatus make(const char *folder, DwMessage *message)
{
    char *path = dw_text_format("%s/book.sqlite.new", folder);
    DwBook made = {.folder = (char *)folder};
    DwStatus status = dw_copy_begin(path, message);
    if (status == DW_OK)
        status = dw_book_connect(path, SQLITE_OPEN_READWRITE, &made.database, message);
    if (status == DW_OK)
        status = dw_schema_migrate(&made, message);
    sqlite3_close(made.database);
    free(made.changes);
    if (status == DW_OK)
        status = dw_copy_end(path, folder, "book.sqlite", message);
    else
        dw_copy_drop(path);
    free(path);
    return status;
}

// Makes the book or brings it forward, having it alone.
static DwStatus bring_up(DwBook *book, DwMessage *message)
{
    DwFolderState state;
    DwStatus status = dw_folder_look(book->folder, &state, message);
    if (status == DW_OK && state == DW_FOLDER_NEW)
        status = make(book->folder, message);
    if (status == DW_OK)
        status = connect_book(book, message);
    if (status == DW_OK)
        status = dw_schema_migrate(book, message);
    if (status == DW_OK)
        dw_hold_share_again(book->hold);
    return status;
}

// Opens the book as it is, sharing it; *READY says whether it is there and of this version.
static DwStatus open_as_it_is(DwBook *book, bool *ready, DwMessage *message)
{
    DwFolderState state = DW_FOLDER_NEW;
    int64_t version = 0;
    *ready = false;
    DwStatus status = dw_hold_share(book->folder, &book->hold, message);
    if (status == DW_OK)
        status = dw_folder_look(book->folder, &state, message);
    if (status == DW_OK)
        status = check_bench(book->folder, message);
    if (status != DW_OK || state == DW_FOLDER_NEW)
        return status;
    status = connect_book(book, message);
    if (status == DW_OK)
        status = dw_query_number(book, "PRAGMA user_version", 0, &version, message);
    bool sealed = false;
    if (status == DW_OK)
        status = dw_seal_is_there(book, &sealed, message);
    *ready = status == DW_OK && version == dw_schema_version() && sealed;
    return status;
}

// Whoever makes a book or brings it forward has it alone; others that come to it meanwhile wait, and
// find it ready. What is refused because somebody has it is tried again: they may have made it.
static DwStatus open_ready(DwBook *book, DwMessage *message)
{
    bool ready = false;
    for (int i = 0;; i++) {
        DwStatus status = open_as_it_is(book, &ready, message);
        if (status != DW_OK || ready)
            return status;
        disconnect(book);
        status = dw_hold_alone_now(book->folder, "bring it forward", &book->hold, message);
        if (status == DW_OK)
            return bring_up(book, message);
        if (status != DW_BAD_INPUT || i == DW_HOLD_TRIES)
            return status;
        sqlite3_sleep(DW_HOLD_PAUSE);
    }
}

// What a program that was killed had still to do. When somebody is writing just now there is time for it later.
static void finish_others_work(DwBook *book)
{
    int64_t doomed = 0;
    if (dw_query_number(book, "SELECT count(*) FROM doomed_file", 0, &doomed, NULL) == DW_OK && doomed)
        dw_attachment_remove_doomed(book, NULL);
}

// Opens it to be worked with.
static DwStatus open_whole(DwBook *book, DwMessage *message)
{
    DwStatus status = prepare_folder(book->folder, message);
    book->source = dw_text_format("%s/book.sqlite", book->folder);
    if (status == DW_OK)
        status = open_ready(book, message);
    if (status == DW_OK)
        status = set_journal_mode(book, message);
    if (status == DW_OK)
        status = read_digits(book, message);
    if (status != DW_OK)
        return status;
    finish_others_work(book);
    dw_hold_note_book(book->hold);
    note_files(book);
    return DW_OK;
}

// Opens it to be read only, as its disk lets nothing be written.
static DwStatus open_fixed(DwBook *book, DwMessage *message)
{
    int64_t version = 0;
    disconnect(book);
    free(book->source);
    book->source = NULL;
    book->hold = dw_hold_share_as_it_is(book->folder);
    DwStatus status = dw_reading_begin(book, message);
    if (status == DW_OK)
        status = connect_book(book, message);
    if (status == DW_OK)
        status = dw_query_run(book, "PRAGMA temp_store = MEMORY", message);
    if (status == DW_OK)
        status = dw_query_number(book, "PRAGMA user_version", 0, &version, message);
    if (status == DW_OK && version != dw_schema_version())
        return dw_fail(message, DW_FAILED,
                       "%s It is of an older program and must be brought forward before it is read.", book->fixed);
    return status == DW_OK ? read_digits(book, message) : status;
}

DwStatus dw_book_open(const char *folder, DwBook **book, DwMessage *message)
{
    DwBook *opened = dw_memory_new(1, sizeof *opened);
    opened->folder = dw_memory_text(folder);
    opened->actor = dw_memory_text("counter");
    DwFolderState state;
    DwStatus status = dw_folder_look(folder, &state, message); // before anything is made in it
    if (status == DW_OK)
        status = open_whole(opened, message);
    if (status == DW_FAILED && state == DW_FOLDER_BOOK && dw_reading_is_needed(opened))
        status = open_fixed(opened, message);
    if (status == DW_OK) {
        opened->questions = dw_memory_new(1, sizeof *opened->questions);
        *book = opened;
    } else {
        dw_book_close(opened);
    }
    return status;
}

DwStatus dw_book_find(const char *folder, bool *found, DwMessage *message)
{
    DwFolderState state = DW_FOLDER_NEW;
    DwStatus status = dw_folder_look(folder, &state, message);
    *found = state == DW_FOLDER_BOOK;
    return status;
}

// What can only be read is opened anew: others may have changed it meanwhile, or its disk takes it again.
static DwStatus open_again(DwBook *book, DwMessage *message)
{
    DwBook *now;
    DwStatus status = dw_book_open(book->folder, &now, message);
    if (status != DW_OK)
        return status;
    DwBook before = *book;
    *book = *now;
    *now = before;
    dw_field_replace(&book->actor, now->actor);
    dw_book_close(now);
    return DW_OK;
}

DwStatus dw_book_take_up(DwBook *book, DwMessage *message)
{
    if (book->fixed)
        return open_again(book, message);
    return has_its_files(book) ? read_digits(book, message) : gone(message);
}

void dw_book_close(DwBook *book)
{
    if (!book)
        return;
    // What lies in a log that is no longer the book's is not poured into the file it now has.
    if (book->database && book->files[0].number && !has_its_files(book))
        sqlite3_db_config(book->database, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, NULL);
    disconnect(book);
    dw_reading_end(book);
    free(book->changes);
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

const char *dw_book_fixed(const DwBook *book)
{
    return book->fixed;
}

const char *dw_book_source(const DwBook *book)
{
    return book->source;
}

const char *dw_book_folder(const DwBook *book)
{
    return book->folder;
}

static void roll_back(DwBook *book)
{
    // A full disk or a broken file may have undone the change already.
    if (!sqlite3_get_autocommit(book->database))
        sqlite3_exec(book->database, "ROLLBACK", NULL, NULL, NULL);
}

DwStatus dw_book_begin(DwBook *book, DwMessage *message)
{
    if (book->fixed)
        return dw_fail(message, DW_FAILED, "%s Nothing was changed.", book->fixed);
    if (book->depth == 0) {
        DwStatus status = dw_query_run(book, "BEGIN IMMEDIATE", message);
        if (status != DW_OK)
            return status;
        if (book->files[0].number && !has_its_files(book)) {
            roll_back(book);
            return gone(message);
        }
        book->broken = false;
        dw_seal_watch(book);
    }
    book->depth++;
    return DW_OK;
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
        status = dw_seal_changes(book, message);
    if (status == DW_OK)
        status = dw_query_run(book, "COMMIT", message);
    if (status != DW_OK)
        roll_back(book);
    return status;
}
