// SPDX-License-Identifier: MIT
// People and decks that stand in the book twice: noticed, and made one.
#ifndef DW_BOOK_TWIN_H
#define DW_BOOK_TWIN_H

#include "book/store/record.h"

// The other customers that have the name, the telephone number or the email of CUSTOMER, or the other decks that have
// the make and the serial number of a deck, oldest first. RECORD is one of the two. The caller frees *TWINS with
// dw_records_clear().
DwStatus dw_twin_find(DwBook *book, const DwRecord *record, DwRecords *twins, DwMessage *message);
// How many entries of OTHER hang on the customer or deck ID of ENTITY, which a merging takes along; 0 for what does
// not.
DwStatus dw_twin_hanging(DwBook *book, const DwEntity *entity, int64_t id, const DwEntity *other, size_t *count,
                         DwMessage *message);
// What the journal notes of the record that went, before the id of the one that stays.
#define DW_TWIN_MERGED "merged into id "
// Makes one of the two customers or decks FROM and INTO: all that hangs on FROM comes to INTO, which takes what it does
// not say itself, and FROM goes. The journal notes each step. What both say stays as INTO says it, and what FROM said
// otherwise is written in the note of INTO (a deck's lesson); a no of either stays a no. Two that dw_twin_find() does
// not name together, an erased customer, and decks of two owners, are DW_BAD_INPUT. It cannot be undone.
DwStatus dw_twin_merge(DwBook *book, const DwEntity *entity, int64_t from, int64_t into, DwMessage *message);

#endif
