// SPDX-License-Identifier: MIT
// Invoices, with the warranty they start, and the notices about storage and
// collection. An issued invoice is not changed: another one corrects it.
#ifndef DW_BOOK_INVOICE_H
#define DW_BOOK_INVOICE_H

#include "book/money/bill.h"
#include "book/store/words.h"

typedef enum {
    DW_INVOICE_DRAFT,
    DW_INVOICE_ISSUED,
} DwInvoiceState;

typedef struct {
    DwRecord record;
    int64_t job_id;
    int64_t number; // counted without gaps when it is issued; 0 for a draft
    int state;      // DwInvoiceState
    char *issued_on;
    char *customer_name; // as they were on that day
    char *customer_address;
    int64_t tax_rate;
    char *paid_on;
    int64_t corrects_id; // the invoice this one corrects, or 0
    char *words;
    char *warranty_from;
    char *warranty_until;
    char *warranty_covers;
    char *warranty_excludes;
} DwInvoice;

typedef enum {
    DW_NOTICE_READY,
    DW_NOTICE_REMINDER,
    DW_NOTICE_STORAGE,
    DW_NOTICE_LAST,
    DW_NOTICE_KINDS,
} DwNoticeKind;

typedef struct {
    DwRecord record;
    int64_t job_id;
    int kind; // DwNoticeKind
    char *sent_on;
    int how; // DwRoute
    char *words;
} DwNotice;

extern const DwEntity dw_invoice_entity;
extern const DwEntity dw_notice_entity;

// Starts an invoice on JOB into an initialised record, with the customer's name
// and address, tax and warranty as they stand today. With ESTIMATE (else 0) the
// lines of its option TIER are taken over; without, a line is proposed for each thing fitted and
// worked that stands on no invoice of the job and has a price (unbilled.h).
DwStatus dw_invoice_draft(DwBook *book, int64_t job, int64_t estimate, DwTier tier, DwInvoice *invoice,
                          DwMessage *message);
// Gives the draft the next number and today's date; the warranty starts today. When the job's
// invoices then come to more than was agreed to (consent.h), it is DW_BAD_INPUT.
DwStatus dw_invoice_issue(DwBook *book, int64_t invoice, DwMessage *message);
DwStatus dw_invoice_pay(DwBook *book, int64_t invoice, const char *paid_on, DwMessage *message);
DwStatus dw_invoice_totals(DwBook *book, int64_t invoice, DwTotals *totals, DwMessage *message);

#endif
