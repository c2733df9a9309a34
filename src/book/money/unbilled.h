// SPDX-License-Identifier: MIT
// What was fitted and worked on a job, and the charge of an estimate that was refused, and stands on none of its
// invoices.
#ifndef DW_BOOK_UNBILLED_H
#define DW_BOOK_UNBILLED_H

#include "book/money/bill.h"

#include <stddef.h>

typedef struct {
    DwLineKind kind; // labour, part or charge
    char *name;
    int64_t minutes; // of labour
    double quantity; // of a part
    int64_t price;   // for one; DW_AMOUNT_NONE when the book does not say it
} DwUnbilledItem;

typedef struct {
    DwUnbilledItem *items;
    size_t count;
    size_t held; // operations done and parts fitted in all, billed or not
    bool untold; // an estimate was refused whose charge was not told at intake: it is not asked for
} DwUnbilled;

// Reads what JOB holds. A part or an operation that was done is billed by a line of the job's
// invoices that names it: in the same words, or in half of the weightier ones. The caller frees
// it with dw_unbilled_clear().
DwStatus dw_unbilled_read(DwBook *book, int64_t job, DwUnbilled *unbilled, DwMessage *message);
void dw_unbilled_clear(DwUnbilled *unbilled);

// Adds a line to the draft INVOICE for each item of JOB that has a price; *ADDED tells how many.
DwStatus dw_unbilled_propose(DwBook *book, int64_t job, int64_t invoice, size_t *added, DwMessage *message);

// Whether the two name one thing: in the same words, or in more than half of the weightier words of the shorter.
bool dw_unbilled_names_it(const char *line, const char *item);

#endif
