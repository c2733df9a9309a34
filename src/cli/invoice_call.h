// SPDX-License-Identifier: MIT
// What the command "invoice" is made of besides drafting and issuing (command_invoice.c).
#ifndef DW_CLI_INVOICE_CALL_H
#define DW_CLI_INVOICE_CALL_H

#include "book/money/invoice.h"
#include "cli/book_call.h"

// The invoice that the call's first word names, into a record that it initialises.
DwStatus dw_invoice_call_find(DwBookCall *call, DwInvoice *invoice, DwMessage *message);
// Prints the totals, each rate of tax where there are several, and what is left to pay.
DwStatus dw_invoice_call_totals(DwBookCall *call, int64_t id, DwMessage *message);

// The verbs about money that comes in and goes back, and about putting an invoice right (invoice_money.c).
DwStatus dw_invoice_call_pay(DwBookCall *call, DwMessage *message);
DwStatus dw_invoice_call_deposit(DwBookCall *call, DwMessage *message);
DwStatus dw_invoice_call_refund(DwBookCall *call, DwMessage *message);
DwStatus dw_invoice_call_credit(DwBookCall *call, DwMessage *message);
DwStatus dw_invoice_call_cancel(DwBookCall *call, DwMessage *message);
// Those that write for other programs (invoice_write.c): an electronic invoice, a month as a table.
DwStatus dw_invoice_call_xml(DwBookCall *call, DwMessage *message);
DwStatus dw_invoice_call_month(DwBookCall *call, DwMessage *message);

#endif
