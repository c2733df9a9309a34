// SPDX-License-Identifier: MIT
// Copies of the whole book, taken while it is in use, and the way back.
#ifndef DW_BOOK_BACKUP_H
#define DW_BOOK_BACKUP_H

#include "book/store/book.h"

// Writes the book into FOLDER (a stick, another disk): the SQLite file and all
// attachments. A folder that holds an earlier backup of this book only gets what
// is new; killed at any instant it holds the earlier backup or the new one,
// whole. A folder that holds anything else is DW_BAD_INPUT.
DwStatus dw_backup_write(DwBook *book, const char *folder, DwMessage *message);
// Makes the book in FOLDER from the backup in BACKUP, which is checked first. A
// book that is there already is moved aside, and *ASIDE is its new name (NULL
// when there was none); the caller frees it with free(). No program may have
// the book open.
DwStatus dw_backup_restore(const char *backup, const char *folder, char **aside, DwMessage *message);

// Copies the SQLite file alone to FOLDER/NAME, whole or not at all.
DwStatus dw_backup_database(DwBook *book, const char *folder, const char *name, DwMessage *message);

#endif
