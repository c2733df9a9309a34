// SPDX-License-Identifier: MIT
// What a person may enter: which kinds of record, by which verb each is added,
// changed and taken out again, and what it is called. The faces of the book (the
// command line, the pages) know no more of a kind than stands here.
#ifndef DW_BOOK_ENTRY_H
#define DW_BOOK_ENTRY_H

#include "book/store/journal.h"
#include "book/store/record.h"

// Whether records of ENTITY are typed in at all, and taken out again.
bool dw_entry_is_added(const DwEntity *entity);
bool dw_entry_is_removed(const DwEntity *entity);
// Whether FIELD of an ENTITY may be given when it is added, and changed later.
bool dw_entry_is_given(const DwEntity *entity, const DwField *field);
bool dw_entry_is_changed(const DwEntity *entity, const DwField *field);

// Adds RECORD by the verb of its kind: a job is opened, a verdict given, a part
// fitted, the owner told. Its id is set.
DwStatus dw_entry_add(DwBook *book, DwRecord *record, DwMessage *message);
// Keeps what was changed in a loaded RECORD. What follows from it follows: the
// amount of a line from its price, unless the amount was typed. SPAN (may be
// NULL) tells the lines of the journal.
DwStatus dw_entry_change(DwBook *book, DwRecord *record, DwJournalSpan *span, DwMessage *message);
// Takes RECORD out of the book: a part goes back into stock, a draft's lines go with it.
DwStatus dw_entry_remove(DwBook *book, DwRecord *record, DwMessage *message);

// What RECORD is called in a list: "0042", "Make Model serial". The caller frees it with free().
char *dw_entry_title(DwBook *book, const DwRecord *record);
// Whether that says FIELD of ENTITY already.
bool dw_entry_is_in_title(const DwEntity *entity, const DwField *field);
// What several of ENTITY are called: "Findings". Valid for ever.
const char *dw_entry_plural(const DwEntity *entity);
// The job on which RECORD hangs; 0 for none.
DwStatus dw_entry_job(DwBook *book, const DwRecord *record, int64_t *job, DwMessage *message);

// What cannot be: days that are over or still to come, in the wrong order, a warranty of somebody else's job. Only what
// is new is looked at: what the book holds already stays.

// Whether RECORD, which is about to be added or changed, can be so. DW_BAD_INPUT says what cannot.
DwStatus dw_entry_check(DwBook *book, const DwRecord *record, DwMessage *message);
// What speaks against adding RECORD though it can be so, as a sentence: that the like of it was added for the same day,
// that a letter calls for a deck that is not there to be fetched. NULL when nothing does; valid for ever. Whoever is
// sure adds it all the same. What cannot be is DW_BAD_INPUT, as above.
DwStatus dw_entry_doubt(DwBook *book, const DwRecord *record, const char **doubt, DwMessage *message);

#endif
