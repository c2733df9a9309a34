// SPDX-License-Identifier: MIT
// Attachments that are missing or not as they were put in, taken from a backup by their SHA-256.
#ifndef DW_BOOK_MEND_H
#define DW_BOOK_MEND_H

#include "book/care/problem.h"
#include "book/store/book.h"

typedef struct {
    size_t mended;
    size_t whole; // needed nothing
} DwMended;

// Takes what BOOK lacks from the backup in the folder BACKUP, of whatever day and book, under whatever name it has
// there: its SHA-256 tells. DIGEST (its first 8 figures or more, or the name of its file) is of the one that is meant,
// NULL for all. What stood in its place goes to FOLDER/orphans. What the backup has not either is a problem. The caller
// clears *PROBLEMS.
DwStatus dw_mend_attachments(DwBook *book, const char *backup, const char *digest, DwMended *mended,
                             DwProblems *problems, DwMessage *message);

#endif
