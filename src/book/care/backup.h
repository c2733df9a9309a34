// SPDX-License-Identifier: MIT
// Copies of the whole book, taken while it is in use, and the way back. What of the
// attachments is missing or not as it was put in ends neither: all that can be read is
// copied, and PROBLEMS gets a sentence for each of the others.
#ifndef DW_BOOK_BACKUP_H
#define DW_BOOK_BACKUP_H

#include "book/care/problem.h"
#include "book/store/book.h"

// Writes the book into FOLDER (a stick, another disk): the SQLite file and all
// attachments, each held against its SHA-256. A folder that holds an earlier backup of
// this book only gets what is new, and a whole attachment in it is never replaced by a
// damaged one; killed at any instant it holds the earlier backup or the new one, whole.
// A folder that holds anything else, the backup of another book too, is DW_BAD_INPUT. The
// caller clears *PROBLEMS.
DwStatus dw_backup_write(DwBook *book, const char *folder, DwProblems *problems, DwMessage *message);
// Makes the book in FOLDER from the backup in BACKUP, whose database is checked first. A
// book that is there already is moved aside, and *ASIDE is its new name (NULL
// when there was none); the caller frees it with free(). An attachment that the backup
// has not whole is taken from there when it is whole there. While any other program has
// the book open, and where another book than the backup's has something in it, it is DW_BAD_INPUT. The caller clears
// *PROBLEMS. Who was erased after the backup was made is erased in it again: *ERASED says how many.
DwStatus dw_backup_restore(const char *backup, const char *folder, char **aside, size_t *erased, DwProblems *problems,
                           DwMessage *message);

// Which book a file is of: a number drawn when the book was made (schema_5.c), the same in its backups and in what is
// restored from them.

// Whether the database at PATH, a book or a backup that nobody has open, is of another book than BOOK. One of an older
// version, or one that cannot be read, is of none.
bool dw_identity_is_other(DwBook *book, const char *path);
// Opens the database at PATH, which nobody else has, and leaves it as it is; false when that cannot be. The caller
// closes BOOK's connection.
bool dw_identity_look(const char *path, DwBook *book);
// NULL where BOOK has none. The caller frees it with free().
char *dw_identity_read(DwBook *book);
// Whether two such databases are of different books; *IS_EMPTY says whether nothing was ever noted in the first.
bool dw_identity_differ(const char *first, const char *second, bool *is_empty);

#endif
