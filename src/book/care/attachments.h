// SPDX-License-Identifier: MIT
// Copying attachments out of a book, each held against its SHA-256.
#ifndef DW_BOOK_ATTACHMENTS_H
#define DW_BOOK_ATTACHMENTS_H

#include "book/care/problem.h"
#include "book/store/record.h"

// Copies one into the folder TO; PLACES are the folders it may be whole in (NULL last), the first
// being its own. One that is whole in TO already stays. What is missing or changed is a problem
// that names it as NAME; a changed one is copied as it is, unless TO has it. DW_FAILED only when TO
// cannot be written.
DwStatus dw_attachments_copy(const char *const *places, const char *to, const char *file, const char *digest,
                             const char *name, DwProblems *problems, DwMessage *message);
// The same of all that BOOK has rows for (with ID bound to the parameters of the condition WHERE, NULL for all).
DwStatus dw_attachments_copy_all(DwBook *book, const char *where, int64_t id, const char *const *places, const char *to,
                                 DwProblems *problems, DwMessage *message);

#endif
