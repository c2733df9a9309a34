// SPDX-License-Identifier: MIT
// What an issued invoice is printed with besides its lines stays as it was on that day: the shop, the deck, the parts.
#ifndef DW_BOOK_FROZEN_H
#define DW_BOOK_FROZEN_H

#include "book/money/invoice.h"

// Fills what is printed on INVOICE as the book has it now, with the moment.
DwStatus dw_invoice_freeze(DwBook *book, DwInvoice *invoice, DwMessage *message);
// Sets RECORD, the deck of the invoice's job or its arm, cartridge or stylus, to what INVOICE was issued with; one that
// was not, or before that was kept, leaves it alone.
DwStatus dw_invoice_thaw(DwBook *book, const DwInvoice *invoice, DwRecord *record, DwMessage *message);
// The parts that INVOICE declares: those it was issued with, else the job's. Clear with dw_records_clear().
DwStatus dw_invoice_parts(DwBook *book, const DwInvoice *invoice, DwRecords *parts, DwMessage *message);

#endif
