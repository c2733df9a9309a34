// SPDX-License-Identifier: MIT
// Which book a file is of: a number drawn when the book was made (schema_5.c), the same in its backups and in what is
// restored from them.
#ifndef DW_BOOK_IDENTITY_H
#define DW_BOOK_IDENTITY_H

#include "book/store/book.h"

// Whether the database at PATH, a book or a backup that nobody has open, is of another book than BOOK. One of an older
// version, or one that cannot be read, is of none.
bool dw_identity_is_other(DwBook *book, const char *path);
// The same of two such databases; *IS_EMPTY says whether nothing was ever noted in the first.
bool dw_identity_differ(const char *first, const char *second, bool *is_empty);

#endif
