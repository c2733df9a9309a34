// SPDX-License-Identifier: MIT
// Customers and decks between the books of a shop's branches: what one book exported, taken into another.
#ifndef DW_BOOK_EXCHANGE_H
#define DW_BOOK_EXCHANGE_H

#include "book/care/problem.h"
#include "book/store/record.h"

// Of customers and of decks: how many came new, and how many the book had, with something new said of them or not.
typedef struct {
    size_t added, filled, known;
} DwTaken;

typedef struct {
    DwTaken customers, decks;
    size_t others; // owners, quantities, arms, cartridges and styli that came new
} DwExchange;

// Takes the customers and decks of the export in FOLDER (dw_export_write), with who owned them, what is noted of them
// and what is mounted on them; whole or not at all. Jobs, with their pictures, and money stay where they are. One that
// the book has is not added again: what it does not say is filled in, what the other book says otherwise is written
// into its note. NOTES, which the caller clears, names who may be one and cannot be told, and what could not be taken.
// A folder without such an export is DW_BAD_INPUT.
DwStatus dw_exchange_read(DwBook *book, const char *folder, DwExchange *exchange, DwProblems *notes,
                          DwMessage *message);

#endif
