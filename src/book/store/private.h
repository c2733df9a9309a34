// SPDX-License-Identifier: MIT
// What the folder's own files share and no face sees: the connection, and
// prepared statements whose trouble is asked for once, at their end.
#ifndef DW_BOOK_PRIVATE_H
#define DW_BOOK_PRIVATE_H

#include "book/store/book.h"
#include "book/store/hold.h"
#include "book/store/record.h"

#include <sqlite3.h>
#include <stdbool.h>
#include <sys/types.h>

// Marks the SQLite file as a job book: "DwBk".
enum { DW_BOOK_APPLICATION = 0x4477426B };

// The setting that tells how many decimals the currency has, and how many it has unless it says so.
#define DW_BOOK_DIGITS_KEY "money.digits"
enum { DW_BOOK_USUAL_DIGITS = 2 };

typedef struct {
    dev_t disk;
    ino_t number;
} DwBookFile;

// A row that a change has touched, to be sealed with it (seal.c).
typedef struct {
    char table[40];
    int64_t row;
} DwSealChange;

// Questions that were asked and are likely to be asked again, prepared and at rest (query.c).
enum { DW_BOOK_QUESTIONS = 160 };
typedef struct {
    struct {
        sqlite3_stmt *statement;
        uint32_t mark; // of its text
    } at_rest[DW_BOOK_QUESTIONS];
    size_t count, oldest;
} DwBookQuestions;

struct DwBook {
    sqlite3 *database;
    DwHold *hold;
    DwBookFile files[2]; // the database and the log of changes as they were opened; 0 for a bare connection
    char *folder;
    char *source; // what of the database others than this connection open (dw_book_source)
    char *fixed;  // why it can only be read; NULL for a book that can be changed
    char *copy;   // the folder of a copy that is read in its place; NULL for none
    char *actor;
    bool away;                // who acts sits at another computer
    char now[DW_MOMENT_SIZE]; // "" for the clock
    int depth;                // of nested begins
    bool broken;              // a nested change failed: the outermost end undoes all
    int amount_digits;        // decimals of the currency
    DwSealChange *changes;    // since the outermost begin
    size_t change_count, change_room;
    DwBookQuestions *questions; // NULL for a bare connection
};

// One prepared statement at work. Values are bound in order; the first trouble
// ends it and is reported by dw_query_end().
typedef struct {
    DwBook *book;
    sqlite3_stmt *statement;
    int bound;
    int code; // of SQLite, SQLITE_OK while all is well
} DwQuery;

// Prepares SQL and binds its '?' one after another; the query remembers the first trouble.
DwQuery dw_query_begin(DwBook *book, const char *sql);
void dw_query_bind_integer(DwQuery *query, int64_t value);
// NULL binds nothing. TEXT must live until the query ends.
void dw_query_bind_text(DwQuery *query, const char *text);
// NAN binds nothing.
void dw_query_bind_real(DwQuery *query, double value);
// The next row, or false at the end or at trouble.
bool dw_query_step(DwQuery *query);
int64_t dw_query_integer(const DwQuery *query, int column);
// Nothing is NAN.
double dw_query_real(const DwQuery *query, int column);
bool dw_query_is_nothing(const DwQuery *query, int column);
// Never NULL. Valid until the next step or the end.
const char *dw_query_text(const DwQuery *query, int column);
// Back to before the first step, to be asked again with values bound anew.
void dw_query_again(DwQuery *query);
DwStatus dw_query_end(DwQuery *query, DwMessage *message);
// Steps a statement that returns no rows and ends it.
DwStatus dw_query_finish(DwQuery *query, DwMessage *message);

// Forgets the questions at rest, before the connection is closed.
void dw_query_forget(DwBook *book);

// Runs SQL without values.
DwStatus dw_query_run(DwBook *book, const char *sql, DwMessage *message);
// The single number that SQL returns with ID bound to its parameters; 0 without a row.
DwStatus dw_query_number(DwBook *book, const char *sql, int64_t id, int64_t *number, DwMessage *message);
// One line for the trouble CODE of DATABASE, and the status it amounts to.
DwStatus dw_query_fail(sqlite3 *database, int code, DwMessage *message);

// Replaces the owned text at PLACE by a copy of TEXT.
void dw_field_replace(char **place, const char *text);
// Puts the book's moment at AT and its actor at WHO (which may be NULL).
void dw_field_stamp(const DwBook *book, char **at, char **who);
// Whether it lies in the struct as an owned text.
bool dw_field_is_text(const DwField *field);
// Whether TEXT could be typed into FIELD; the same line as dw_record_set gives.
DwStatus dw_field_check(const DwBook *book, const DwField *field, const char *text, DwMessage *message);

// As dw_record_set, but also of a field that the book keeps itself.
DwStatus dw_field_set(const DwBook *book, DwRecord *record, const DwField *field, const char *text, DwMessage *message);

// As dw_record_save, but also writes the fields that the book keeps itself.
DwStatus dw_record_keep(DwBook *book, DwRecord *record, DwMessage *message);
// Records of ENTITY for which the condition SQL (all after FROM and the table's
// name) holds, with ID bound to its parameters.
DwStatus dw_record_select(DwBook *book, const DwEntity *entity, const char *sql, int64_t id, DwRecords *records,
                          DwMessage *message);
// Writes one line of the journal. VALUES may be NULL.
DwStatus dw_journal_add(DwBook *book, const char *entity, int64_t row, const char *field, const char *old_value,
                        const char *new_value, bool personal, DwMessage *message);
// Blanks the personal values that the journal holds of the rows of ENTITY for which WHERE (with ID) holds.
DwStatus dw_journal_forget(DwBook *book, const DwEntity *entity, const char *where, int64_t id, DwMessage *message);
// Blanks the personal values that the journal holds of row ROW of ENTITY and in which VALUE stands, however it is
// written in capitals.
DwStatus dw_journal_forget_value(DwBook *book, const DwEntity *entity, int64_t row, const char *value,
                                 DwMessage *message);
// Notes the files of the attachments for which WHERE (with ID) holds, to be removed once their rows are gone.
DwStatus dw_attachment_doom(DwBook *book, const char *where, int64_t id, DwMessage *message);
// Removes what was noted; also at the next check when this program was killed in between.
DwStatus dw_attachment_remove_doomed(DwBook *book, DwMessage *message);
// Brings the open DATABASE of BOOK to the newest version; a new book gets its first tables.
DwStatus dw_schema_migrate(DwBook *book, DwMessage *message);
// The version this program writes.
int dw_schema_version(void);
// The database of BOOK as dw_copy_make() takes it. Valid until the book is closed.
const char *dw_book_source(const DwBook *book);

// Seals (seal.c): a digest of each row, as it was when a change was kept. Whether BOOK has them.
DwStatus dw_seal_is_there(DwBook *book, bool *there, DwMessage *message);
// Seals every row anew; within a change, which may have changed the shape of the tables.
DwStatus dw_seal_all(DwBook *book, DwMessage *message);
// From here on the rows that change are noted; and they are sealed, at the change's end.
void dw_seal_watch(DwBook *book);
DwStatus dw_seal_changes(DwBook *book, DwMessage *message);
// Told of each row of TABLE that is not as its seal says; ROW is 0 for what is sealed as a whole.
typedef void DwSealTell(void *user, const char *table, int64_t row);
// Holds every row against its seal.
DwStatus dw_seal_check(DwBook *book, DwSealTell *tell, void *user, DwMessage *message);

// A book that cannot be written to (reading.c). Whether that is so; notes why in `fixed`.
bool dw_reading_is_needed(DwBook *book);
// Sets `source` to what can be opened for reading all the same.
DwStatus dw_reading_begin(DwBook *book, DwMessage *message);
void dw_reading_end(DwBook *book);

// Sets what each connection of the book needs.
DwStatus dw_book_connect(const char *path, int flags, sqlite3 **database, DwMessage *message);

// Copies of the SQLite file (copy.c), under a name of their own until they are whole.
// Makes PATH empty for SQLite to write to, in place of what an interrupted program left there.
DwStatus dw_copy_begin(const char *path, DwMessage *message);
// The same with all that the database SOURCE holds in it, while others may write to that.
DwStatus dw_copy_make(const char *source, const char *path, DwMessage *message);
// Gives the whole, closed PATH its NAME in FOLDER.
DwStatus dw_copy_end(const char *path, const char *folder, const char *name, DwMessage *message);
// Removes PATH and SQLite's files beside it.
void dw_copy_drop(const char *path);

// Files (file.c): each returns 0 or an errno.
// Writes LENGTH bytes to a temporary name in FOLDER, forces them to the disk and gives them NAME.
int dw_file_write(const char *folder, const char *name, const void *bytes, size_t length);
// Copies the file FROM into FOLDER under NAME in the same way; DIGEST (65 characters) and SIZE may be NULL.
int dw_file_copy(const char *from, const char *folder, const char *name, char *digest, int64_t *size);
// SHA-256 of the file at PATH in hexadecimal, and its size.
int dw_file_digest(const char *path, char *digest, int64_t *size);
// Makes FOLDER with mode 0700, and forces it to the disk, unless it is there.
int dw_file_make_folder(const char *folder);
// The same with the folders above it that are not there yet.
int dw_file_make_folders(const char *folder);
// Forces the entries of FOLDER to the disk.
int dw_file_settle(const char *folder);
// Forces the name PATH to the disk: the entries of the folder it stands in.
int dw_file_settle_entry(const char *path);

#endif
