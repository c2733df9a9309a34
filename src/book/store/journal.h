// SPDX-License-Identifier: MIT
// The journal: who changed what, when, and what stood there before. Lines are
// only ever added; the one thing that may happen to them is that a person's data
// in them is blanked when the person is erased (care.h).
#ifndef DW_BOOK_JOURNAL_H
#define DW_BOOK_JOURNAL_H

#include "book/store/record.h"

// What stands where a person's data was.
#define DW_JOURNAL_ERASED "(erased)"
// What the journal notes of a record as a whole that went,
#define DW_JOURNAL_REMOVED "removed"
// that stands in the book again,
#define DW_JOURNAL_PUT_BACK "put back"
// and, before the id of the one that stays, of a record that went into another one.
#define DW_JOURNAL_MERGED "merged into id "

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
// The same of JOB and of all that hangs, or once hung, on it.
DwStatus dw_journal_of_job(DwBook *book, int64_t job, size_t most, DwJournal *journal, DwMessage *message);
// The lines FIRST to LAST of the whole book. The caller frees them with dw_journal_clear().
DwStatus dw_journal_between(DwBook *book, int64_t first, int64_t last, DwJournal *journal, DwMessage *message);
void dw_journal_clear(DwJournal *journal);

// The lines that one change wrote about one record: ids, 0 both when it wrote none.
typedef struct {
    int64_t first, last;
} DwJournalSpan;

// The newest line's id; 0 in an empty journal.
DwStatus dw_journal_newest(DwBook *book, int64_t *line, DwMessage *message);
// What was written about row ROW of ENTITY after the line AFTER.
DwStatus dw_journal_since(DwBook *book, int64_t after, const char *entity, int64_t row, DwJournalSpan *span,
                          DwMessage *message);

// Whether LINE can be undone as the book stands; if not, MESSAGE says why.
DwStatus dw_journal_check_undo(DwBook *book, const DwJournalLine *line, DwMessage *message);
// Undoes the line LINE: a changed field gets back what stood there before, a
// record that was added goes, one that was removed comes back under a new id, two
// that were made one are taken apart (twin.h). The journal keeps both. What was changed again since, what the book
// itself moves, what is evidence and what was erased with a person is DW_BAD_INPUT.
DwStatus dw_journal_undo(DwBook *book, int64_t line, DwMessage *message);
// Undoes all lines of SPAN about the record of its first line, or none.
DwStatus dw_journal_undo_span(DwBook *book, DwJournalSpan span, DwMessage *message);
// The line LINE. The caller frees it with dw_journal_clear().
DwStatus dw_journal_line(DwBook *book, int64_t line, DwJournal *journal, DwMessage *message);

#endif
