// SPDX-License-Identifier: MIT
// Invoices and credit notes, with the warranty they start, and the notices about storage and
// collection. One that was issued is not changed: another one corrects it. Terms BT-… are those of EN 16931-1.
#ifndef DW_BOOK_INVOICE_H
#define DW_BOOK_INVOICE_H

#include "book/money/bill.h"
#include "book/store/words.h"

typedef enum {
    DW_INVOICE_DRAFT,
    DW_INVOICE_ISSUED,
} DwInvoiceState;

typedef enum {
    DW_INVOICE_PLAIN,        // with an invoice that it corrects it takes the place of that one
    DW_INVOICE_CREDIT,       // a credit note: takes its lines off the invoice it names
    DW_INVOICE_CANCELLATION, // a credit note over all of it
} DwInvoiceKind;

typedef struct {
    DwRecord record;
    int64_t job_id;
    int kind;       // DwInvoiceKind
    int64_t year;   // in which it is counted; 0 for one from before years were kept
    int64_t number; // counted within its year without gaps when it is issued; 0 for a draft
    int state;      // DwInvoiceState
    char *issued_on;
    char *issued_at;     // the moment, from which on what is printed on it stays (frozen.h); NULL for one from before
    char *supplied_on;   // BT-72, the day of supply
    char *customer_name; // as they were on that day
    char *customer_address;
    char *customer_country;
    int64_t tax_rate;
    char *exempt_reason; // BT-120, of lines without tax
    char *currency;      // BT-5, or the sign that the shop prints
    char *due_on;        // BT-9
    char *terms;         // BT-20
    char *account;       // BT-84, to be paid into
    char *paid_on;       // when nothing was left to pay; kept by the payments
    int64_t corrects_id; // BT-25, the invoice this one corrects, or 0
    char *words;
    char *warranty_from;
    char *warranty_until;
    char *warranty_covers;
    char *warranty_excludes;
    char *shop_name; // the shop, of an issued one
    char *shop_address;
    char *shop_phone;
    char *shop_email;
    char *shop_country;
    char *shop_tax_number;
    char *account_name;
    char *deck_words; // the deck and the parts that it names, by frozen.h
    char *part_words;
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

// Notes NOTICE. That they are ready is told once of all decks that came in together and are.
DwStatus dw_notice_add(DwBook *book, DwNotice *notice, DwMessage *message);
// Takes NOTICE, as it is in the book, out again, off every deck that it told of. In a transaction of the caller's.
DwStatus dw_notice_remove(DwBook *book, DwNotice *notice, DwMessage *message);

// Starts an invoice on JOB into an initialised record, with the customer's name
// and address, tax, terms and warranty as they stand today. With ESTIMATE (else 0) the
// lines of its option TIER are taken over; without, a line is proposed for each thing fitted and
// worked that stands on no invoice of the job and has a price, and for the charge of an estimate
// that was refused (unbilled.h).
DwStatus dw_invoice_draft(DwBook *book, int64_t job, int64_t estimate, DwTier tier, DwInvoice *invoice,
                          DwMessage *message);
// Adds to the draft INVOICE what was fitted and worked on the other jobs that came in together with its own, each line
// with its job.
DwStatus dw_invoice_add_visit(DwBook *book, int64_t invoice, DwMessage *message);
// Gives the draft the next number of the year and today's date; the warranty starts today. When the job's
// invoices then come to more than was agreed to (consent.h), it is DW_BAD_INPUT, and so is a correction of what is
// none of the job's issued invoices or a credit note over more than is left of its invoice.
DwStatus dw_invoice_issue(DwBook *book, int64_t invoice, DwMessage *message);
// The invoice that TEXT names, by its id or, with a dash, its number ("2026-0003"), into an initialised record.
DwStatus dw_invoice_find(DwBook *book, const char *text, DwInvoice *invoice, DwMessage *message);
// Its number as it is printed: "2026-0003", or "3" from before years were kept; "" for a draft. The caller frees it
// with free().
char *dw_invoice_number(const DwInvoice *invoice);
// Whether it takes off what another asks for.
bool dw_invoice_is_credit(const DwInvoice *invoice);

// What it comes to.
DwStatus dw_invoice_totals(DwBook *book, int64_t invoice, DwTotals *totals, DwMessage *message);
// The totals for each rate of tax. The caller frees *SHARES with dw_tax_shares_clear().
DwStatus dw_invoice_shares(DwBook *book, int64_t invoice, DwTaxShares *shares, DwMessage *message);

#endif
