// SPDX-License-Identifier: MIT
// Whether what another book says is of somebody or something that this book has, and what of it is new.
#ifndef DW_BOOK_EXCHANGE_SAME_H
#define DW_BOOK_EXCHANGE_SAME_H

#include "book/store/record.h"

// Whether two customers, decks, arms, cartridges or styli are one by what they say of themselves. A customer by the
// name with telephone or email; a deck, an arm, a cartridge by make, model and serial number.
bool dw_exchange_same(const DwBook *book, const DwRecord *one, const DwRecord *other);
// Whether nothing tells them apart, and nothing shows that they are one (a name alone, a deck without serial number).
bool dw_exchange_may_be_same(const DwBook *book, const DwRecord *one, const DwRecord *other);
// Fills INTO with what FROM says and it does not; what FROM says otherwise goes into its note, once. A no stays a no.
// References are left alone. *CHANGED: whether anything was new; it is not saved here.
DwStatus dw_exchange_fill(const DwBook *book, const DwRecord *from, DwRecord *into, bool *changed, DwMessage *message);
// Adds LINE to the note of RECORD unless it stands there. Returned: whether it was added.
bool dw_exchange_note(const DwBook *book, DwRecord *record, const char *line);
// Telephone numbers are one by their figures, everything else by its words, whatever the case of their letters.
bool dw_exchange_equal(const char *key, const char *one, const char *other);

#endif
