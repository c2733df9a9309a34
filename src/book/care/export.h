// SPDX-License-Identifier: MIT
// What is held of a customer, given to them; or the whole book, for another program.
#ifndef DW_BOOK_EXPORT_H
#define DW_BOOK_EXPORT_H

#include "book/care/problem.h"
#include "book/store/record.h"

// Writes what the book holds of CUSTOMER (0 for the whole book) into the new or
// empty FOLDER: export.json (last), one CSV file a table, and the attachments. One
// that is missing or not as it was put in ends nothing: PROBLEMS, which the caller
// clears, names it.
DwStatus dw_export_write(DwBook *book, int64_t customer, const char *folder, DwProblems *problems, DwMessage *message);

#endif
