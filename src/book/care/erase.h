// SPDX-License-Identifier: MIT
// A customer erased while the deck's technical history stays, and what is due to be let go.
#ifndef DW_BOOK_ERASE_H
#define DW_BOOK_ERASE_H

#include "book/care/problem.h"
#include "book/shop/customer.h"
#include "book/store/record.h"

// Where else something of the person stood: what WHAT, a field of the customer, said, in FIELD of a record that is not
// the customer's, or that stays with the deck.
typedef struct {
    const DwEntity *entity;
    int64_t id;
    const DwField *field, *what;
    bool erased; // there too: it was in what is known of another customer
} DwErasureTrace;

// What an erasure did and what it had to leave.
typedef struct {
    size_t attachments;            // removed
    size_t invoices;               // that must keep the name for now
    char keep_until[DW_DATE_SIZE]; // the day the last of them may be blanked; "" for none
    DwErasureTrace *traces;
    size_t trace_count;
} DwErasure;

// Blanks everything personal that the book holds of CUSTOMER, in its journal
// too, and removes signatures and pictures of persons or homes; the deck, what
// was measured and done stays. Invoices younger than the law's time keep their
// name: erase again after that day. A customer whose deck is in the shop is
// DW_BAD_INPUT. Backups, and the copies in before-migration/, made before still
// hold the data; that is for the shop. The person's email, telephone, address and whole name are looked for in every
// other text of the book: what is known of other customers loses them, what else holds them is told. The caller frees
// ERASURE with dw_erasure_clear().
DwStatus dw_erase_customer(DwBook *book, int64_t customer, DwErasure *erasure, DwMessage *message);
void dw_erasure_clear(DwErasure *erasure);

// Part of the above: looks for what GONE, as it was before it was erased, said of the person in every text that is not
// blanked yet; adds to ERASURE where it stands, and takes it out of what is known of other customers and their journal.
DwStatus dw_erase_traces(DwBook *book, const DwCustomer *gone, DwErasure *erasure, DwMessage *message);

// Notes beside the database who was erased, for a restore of an older backup (erased.c).
void dw_erased_note(DwBook *book);
// Erases in BOOK, made from a backup, whoever was erased in the book in FOLDER that it takes the place of: *COUNT of
// them. One that cannot be erased is a problem.
DwStatus dw_erased_again(DwBook *book, const char *folder, size_t *count, DwProblems *problems, DwMessage *message);

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

// What the shop's retention settings say is due for deletion today: customers to
// erase, photographs to remove, names on old invoices of erased customers. The
// caller frees the list with dw_due_list_clear().
DwStatus dw_due_list_read(DwBook *book, DwDueList *list, DwMessage *message);
void dw_due_list_clear(DwDueList *list);

#endif
