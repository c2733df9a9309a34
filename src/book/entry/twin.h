// SPDX-License-Identifier: MIT
// People and decks that stand in the book twice: noticed, and made one.
#ifndef DW_BOOK_TWIN_H
#define DW_BOOK_TWIN_H

#include "book/store/journal.h"
#include "book/store/record.h"

// The other customers that have the name, the telephone number or the email of CUSTOMER, or the other decks that have
// the make and the serial number of a deck, oldest first. RECORD is one of the two. The caller frees *TWINS with
// dw_records_clear().
DwStatus dw_twin_find(DwBook *book, const DwRecord *record, DwRecords *twins, DwMessage *message);
// How many entries of OTHER hang on the customer or deck ID of ENTITY, which a merging takes along; 0 for what does
// not.
DwStatus dw_twin_hanging(DwBook *book, const DwEntity *entity, int64_t id, const DwEntity *other, size_t *count,
                         DwMessage *message);
// The field of OTHER that points to a record of ENTITY, or NULL; and the one in which what else is known of a record of
// ENTITY is written in words.
const DwField *dw_twin_reference(const DwEntity *other, const DwEntity *entity);
const DwField *dw_twin_note(const DwEntity *entity);
// What the journal notes of the record that stays, as a field: "with id 12". Of the one that went it notes
// DW_JOURNAL_MERGED.
#define DW_TWIN_MERGED "merged"
#define DW_TWIN_WITH "with id "
// Makes one of the two customers or decks FROM and INTO: all that hangs on FROM comes to INTO, which takes what it does
// not say itself, and FROM goes. The journal notes each step. What both say stays as INTO says it, and what FROM said
// otherwise is written in the note of INTO (a deck's lesson); a no of either stays a no. Two that dw_twin_find() does
// not name together, an erased customer, and decks of two owners, are DW_BAD_INPUT.
DwStatus dw_twin_merge(DwBook *book, const DwEntity *entity, int64_t from, int64_t into, DwMessage *message);

// Whether LINE of the journal is the first or the last of a merging.
bool dw_twin_is_merging(const DwJournalLine *line);
// Whether the two can be taken apart as the book stands: the one that stays is there, and nothing was erased since.
DwStatus dw_twin_check_part(DwBook *book, const DwJournalLine *line, DwMessage *message);
// Takes them apart: the one that went stands in the book again under its old id, with what it said and what hung on
// it. What was changed since the merging, and what came since, stays as it is with the one that stayed; only of its
// note the lines go that the merging wrote there, and of its journal what the other says.
DwStatus dw_twin_part(DwBook *book, const DwJournalLine *line, DwMessage *message);
// The two of the merging that LINE tells of.
DwStatus dw_twin_pair(DwBook *book, const DwJournalLine *line, int64_t *from, int64_t *into, DwMessage *message);
// "1 job, Telephone": what stays with the one that stayed, asked before or after they are taken apart, in the language
// that this thread writes in: the entries that came between, and the fields of the record itself that were changed.
// "" when there is nothing. The caller frees it with free().
char *dw_twin_staying(DwBook *book, const DwJournalLine *line);

#endif
