// SPDX-License-Identifier: MIT
// The book's own check: the SQLite file, what the rows say of each other, each
// attachment against its row, and files that no row speaks of.
#ifndef DW_BOOK_CHECK_H
#define DW_BOOK_CHECK_H

#include "book/care/problem.h"
#include "book/store/book.h"

#include <stdbool.h>

typedef struct {
    DwProblems problems;
    size_t attachments; // looked at
    size_t swept;       // half-written files removed, left by a program that was killed
    size_t set_aside;   // files without a row moved to FOLDER/orphans
    size_t rights;      // of the problems those of the files' rights, which no backup mends
    size_t left;        // files without a row that were left where they are: somebody else has the book
} DwCheckReport;

// Checks the book; one that can only be read is tidied of nothing. THOROUGH also reads every attachment and compares
// its SHA-256. Files are moved only while nobody else has the book, and only as many as interrupted programs may have
// left: attachments whose rows are gone stay where they are, and are a problem. The caller frees the report with
// dw_check_report_clear().
DwStatus dw_check_book(DwBook *book, bool thorough, DwCheckReport *report, DwMessage *message);
void dw_check_report_clear(DwCheckReport *report);
// Checks the SQLite file and what the rows say of each other alone. The caller clears *PROBLEMS.
DwStatus dw_check_entries(DwBook *book, DwProblems *problems, DwMessage *message);
// Adds a problem for each entry that is not as it was when its change was kept, be it by a tired disk or by another
// program; a row's seal (seal.c) tells.
DwStatus dw_check_seals(DwBook *book, DwProblems *problems, DwMessage *message);
// Takes all entries for right as they are now, by somebody who has looked at those that were named.
DwStatus dw_check_accept(DwBook *book, DwMessage *message);

#endif
