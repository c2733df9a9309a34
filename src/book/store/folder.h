// SPDX-License-Identifier: MIT
// What lies in a book's folder, told without opening any of it: a book, nothing yet,
// or what is left of a book, which is never taken for a new one.
#ifndef DW_BOOK_FOLDER_H
#define DW_BOOK_FOLDER_H

#include "base/status.h"

#include <stdbool.h>

typedef enum {
    DW_FOLDER_NEW,  // nothing of a book: one may be started here
    DW_FOLDER_BOOK, // a database that is to be opened
} DwFolderState;

// Looks at FOLDER, which need not be there. What is left of a book (attachments, copies, the lock of
// one, an empty or impossible book.sqlite) is DW_BAD_INPUT with a line that says what is there and
// what to do.
DwStatus dw_folder_look(const char *folder, DwFolderState *state, DwMessage *message);
// The refusal of a book.sqlite that WHAT ("is empty") is said of.
DwStatus dw_folder_refuse(const char *folder, const char *what, DwMessage *message);
// What to do with a book that is lost or damaged, naming the last backup where it is known:
// a sentence or two. The caller frees it with free().
char *dw_folder_advice(const char *folder);
// Notes that the last backup of the book in FOLDER is in BACKUP.
void dw_folder_note_backup(const char *folder, const char *backup);
// How many days ago the last backup of the book in FOLDER was made; -1 for never.
int dw_folder_backup_days(const char *folder);
// Whether a file at PATH, which need not be there, would be one of a book's or a backup's own: its
// database and what SQLite keeps beside it, its notes, or anything in its attachments and the like.
bool dw_folder_owns(const char *path);
// Whether FOLDER holds other things and nothing of a book.
bool dw_folder_is_other(const char *folder);
// Whether PATH, which need not be there, is FOLDER (0 steps up), lies in it (1 and more), or not (-1).
int dw_folder_depth(const char *path, const char *folder);
// Whether PATH is the database of the book in FOLDER or one of SQLite's files beside it, which
// nothing but SQLite may open.
bool dw_folder_is_database(const char *folder, const char *path);

#endif
