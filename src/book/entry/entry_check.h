// SPDX-License-Identifier: MIT
// What cannot be: days that are over or still to come, in the wrong order, a warranty of somebody else's job. Only what
// is new is looked at: what the book holds already stays.
#ifndef DW_BOOK_ENTRY_CHECK_H
#define DW_BOOK_ENTRY_CHECK_H

#include "book/store/record.h"

// Whether RECORD, which is about to be added or changed, can be so. DW_BAD_INPUT says what cannot.
DwStatus dw_entry_check(DwBook *book, const DwRecord *record, DwMessage *message);

#endif
