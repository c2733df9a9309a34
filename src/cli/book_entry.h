// SPDX-License-Identifier: MIT
// The verbs of `book` over every kind of record that the book keeps. KIND is the call's first word.
#ifndef DW_CLI_BOOK_ENTRY_H
#define DW_CLI_BOOK_ENTRY_H

#include "cli/book_call.h"

DwStatus dw_book_entry_kinds(DwBookCall *call, DwMessage *message);
DwStatus dw_book_entry_list(DwBookCall *call, DwMessage *message);
DwStatus dw_book_entry_show(DwBookCall *call, DwMessage *message);
DwStatus dw_book_entry_add(DwBookCall *call, DwMessage *message);
DwStatus dw_book_entry_change(DwBookCall *call, DwMessage *message);
DwStatus dw_book_entry_remove(DwBookCall *call, DwMessage *message);
DwStatus dw_book_entry_fields(DwBookCall *call, DwMessage *message);
// Undoes the line of the journal that the call's first word numbers.
DwStatus dw_book_entry_undo(DwBookCall *call, DwMessage *message);

#endif
