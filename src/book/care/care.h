// SPDX-License-Identifier: MIT
// Care for people's data: what is held of a customer, given to them; a customer
// erased while the deck's technical history stays; what is due to be let go.
#ifndef DW_BOOK_CARE_H
#define DW_BOOK_CARE_H

#include "book/care/problem.h"
#include "book/store/record.h"

// Writes what the book holds of CUSTOMER (0 for the whole book) into the new or
// empty FOLDER: export.json (last), one CSV file a table, and the attachments. One
// that is missing or not as it was put in ends nothing: PROBLEMS, which the caller
// clears, names it.
DwStatus dw_care_export(DwBook *book, int64_t customer, const char *folder, DwProblems *problems, DwMessage *message);

// What an erasure did and what it had to leave.
typedef struct {
    size_t attachments;            // removed
    size_t invoices;               // that must keep the name for now
    char keep_until[DW_DATE_SIZE]; // the day the last of them may be blanked; "" for none
} DwErasure;

// Blanks everything personal that the book holds of CUSTOMER, in its journal
// too, and removes signatures and pictures of persons or homes; the deck, what
// was measured and done stays. Invoices younger than the law's time keep their
// name: erase again after that day. A customer whose deck is in the shop is
// DW_BAD_INPUT. Backups, and the copies in before-migration/, made before still
// hold the data; that is for the shop.
DwStatus dw_care_erase(DwBook *book, int64_t customer, DwErasure *erasure, DwMessage *message);

// Something whose time is over.
typedef struct {
    const DwEntity *entity; // customer, attachment or invoice
    int64_t id;
    char *what; // a name to show
    char *over_since;
    char *why; // a sentence
} DwDue;

typedef struct {
    DwDue *items;
    size_t count;
} DwDueList;

// What the shop's retention settings say is to be let go today: customers to
// erase, photographs to remove, names on old invoices of erased customers. The
// caller frees the list with dw_due_list_clear().
DwStatus dw_care_due(DwBook *book, DwDueList *list, DwMessage *message);
void dw_due_list_clear(DwDueList *list);

#endif
