// SPDX-License-Identifier: MIT
// Money that came in and went back: deposits before an invoice, payments of one, refunds. Terms BT-… are those of
// EN 16931-1.
#ifndef DW_BOOK_PAYMENT_H
#define DW_BOOK_PAYMENT_H

#include "book/money/invoice.h"

typedef enum {
    DW_PAYMENT_PART, // of an invoice, or all of it
    DW_PAYMENT_DEPOSIT,
    DW_PAYMENT_REFUND,
} DwPaymentKind;

#define DW_METHOD_WORDS "not said|cash|card|bank transfer|direct debit|cheque|other"

typedef enum {
    DW_METHOD_NOT_SAID,
    DW_METHOD_CASH,
    DW_METHOD_CARD,
    DW_METHOD_TRANSFER,
    DW_METHOD_DEBIT,
    DW_METHOD_CHEQUE,
    DW_METHOD_OTHER,
} DwPaymentMethod;

typedef struct {
    DwRecord record;
    int64_t job_id;
    int64_t invoice_id; // 0 for a deposit until an invoice is issued that takes it
    int kind;           // DwPaymentKind
    int64_t amount;     // above 0, whichever way it goes
    int method;         // DwPaymentMethod
    char *paid_on;
    char *reference; // of the bank or the card
    char *words;
    char *at;
    char *who;
} DwPayment;

extern const DwEntity dw_payment_entity;

typedef struct {
    int64_t gross;    // BT-112
    int64_t credited; // by credit notes, or by an invoice in its place
    int64_t paid;     // BT-113: deposits and payments less refunds
    int64_t due;      // BT-115: gross less credited less paid (BR-CO-16); below 0 it is to be paid back
} DwBalance;

// Adds an initialised PAYMENT with its job or invoice, kind and amount; its day is today where it has none. A payment
// of more than is due, a refund of more than was paid and a day to come are DW_BAD_INPUT.
DwStatus dw_payment_take(DwBook *book, DwPayment *payment, DwMessage *message);
// Takes PAYMENT out of the book, as one that was written down by mistake.
DwStatus dw_payment_remove(DwBook *book, DwPayment *payment, DwMessage *message);
// What is left to pay of an issued invoice, or would be of a draft with the deposits of its job.
DwStatus dw_payment_balance(DwBook *book, int64_t invoice, DwBalance *balance, DwMessage *message);
// Gives the job's deposits that no invoice has taken to INVOICE, which was issued; those of the invoice it takes the
// place of come with them.
DwStatus dw_payment_bring(DwBook *book, const DwInvoice *invoice, DwMessage *message);
// Notes on INVOICE whether something is left to pay.
DwStatus dw_payment_settle(DwBook *book, int64_t invoice, DwMessage *message);
// Notes that all that was left to pay of INVOICE was paid on PAID_ON ("" for today).
DwStatus dw_invoice_pay(DwBook *book, int64_t invoice, const char *paid_on, DwMessage *message);

#endif
