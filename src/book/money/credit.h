// SPDX-License-Identifier: MIT
// What puts an issued invoice right: a credit note takes something off it, a cancellation all of it, and both name it.
#ifndef DW_BOOK_CREDIT_H
#define DW_BOOK_CREDIT_H

#include "book/money/invoice.h"

// Starts a credit note over the issued INVOICE into an initialised record. NAME (NULL for all its lines, of which those
// that stay are taken out of the draft) and AMOUNT, without tax, make its only line.
DwStatus dw_credit_draft(DwBook *book, int64_t invoice, const char *name, int64_t amount, DwInvoice *credit,
                         DwMessage *message);
// Issues a credit note over all of the issued INVOICE, for the reason WORDS, into an initialised record. One that was
// credited before is DW_BAD_INPUT.
DwStatus dw_credit_cancel(DwBook *book, int64_t invoice, const char *words, DwInvoice *credit, DwMessage *message);
// Whether INVOICE, about to be issued, may correct the one it names.
DwStatus dw_credit_check(DwBook *book, const DwInvoice *invoice, DwMessage *message);
// What is taken off INVOICE by others that were issued: credit notes, or an invoice in its place.
DwStatus dw_credit_total(DwBook *book, int64_t invoice, int64_t *amount, DwMessage *message);
// What JOB's issued invoices ask for, less what was credited.
DwStatus dw_credit_asked(DwBook *book, int64_t job, int64_t *gross, DwMessage *message);

#endif
