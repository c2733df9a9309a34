// SPDX-License-Identifier: MIT
// The journal: who changed what, when, and what stood there before. Lines are
// only ever added; the one thing that may happen to them is that a person's data
// in them is blanked when the person is erased (care.h).
#ifndef DW_BOOK_JOURNAL_H
#define DW_BOOK_JOURNAL_H

#include "book/record.h"

// What stands where a person's data was.
#define DW_JOURNAL_ERASED "(erased)"

typedef struct {
    int64_t id;
    char *at;
    char *who;
    char *entity; // the table's name
    int64_t row;  // its id; 0 for settings
    char *field;  // "" for the record as a whole
    char *old_value;
    char *new_value;
} DwJournalLine;

typedef struct {
    DwJournalLine *lines; // oldest first
    size_t count;
} DwJournal;

// The lines about row ROW of ENTITY (a table's name); ROW 0 means all its rows,
// ENTITY NULL the whole book. Only the newest MOST lines when MOST is not 0.
// The caller frees them with dw_journal_clear().
DwStatus dw_journal_read(DwBook *book, const char *entity, int64_t row, size_t most, DwJournal *journal,
                         DwMessage *message);
void dw_journal_clear(DwJournal *journal);

#endif
