// SPDX-License-Identifier: MIT
// The book's own check: the SQLite file, what the rows say of each other, each
// attachment against its row, and files that no row speaks of.
#ifndef DW_BOOK_CHECK_H
#define DW_BOOK_CHECK_H

#include "book/store/book.h"

#include <stdbool.h>

typedef struct {
    char **problems; // a sentence each, none when all is well
    size_t problem_count;
    size_t attachments; // looked at
    size_t swept;       // half-written files removed, left by a program that was killed
    size_t set_aside;   // files without a row moved to FOLDER/orphans
} DwCheckReport;

// Checks the book. THOROUGH also reads every attachment and compares its SHA-256.
// The caller frees the report with dw_check_report_clear().
DwStatus dw_check_book(DwBook *book, bool thorough, DwCheckReport *report, DwMessage *message);
void dw_check_report_clear(DwCheckReport *report);

#endif
