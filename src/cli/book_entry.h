// SPDX-License-Identifier: MIT
// The verbs of `book` over every kind of record that the book keeps. KIND is the call's first word.
#ifndef DW_CLI_BOOK_ENTRY_H
#define DW_CLI_BOOK_ENTRY_H

#include "cli/book_call.h"

// Prints the kinds there are.
DwStatus dw_book_entry_kinds(DwBookCall *call, DwMessage *message);
// Prints every record of KIND by its id and what it is called.
DwStatus dw_book_entry_list(DwBookCall *call, DwMessage *message);
// Prints the record of KIND that the second word names: a job and stock by their own numbers, an invoice by id or
// number.
DwStatus dw_book_entry_show(DwBookCall *call, DwMessage *message);
// Adds one from the operands.
DwStatus dw_book_entry_add(DwBookCall *call, DwMessage *message);
// Changes what the operands give, and says how that is taken back.
DwStatus dw_book_entry_change(DwBookCall *call, DwMessage *message);
// Takes it out of the book, and says how that is taken back.
DwStatus dw_book_entry_remove(DwBookCall *call, DwMessage *message);
// Prints the keys that a record of KIND takes.
DwStatus dw_book_entry_fields(DwBookCall *call, DwMessage *message);
// Makes one of two customers or decks: the second word's record goes into the third's.
DwStatus dw_book_entry_merge(DwBookCall *call, DwMessage *message);
// Undoes the line of the journal that the call's first word numbers, with a second word all up to that.
DwStatus dw_book_entry_undo(DwBookCall *call, DwMessage *message);

#endif
