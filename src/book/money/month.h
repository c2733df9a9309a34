// SPDX-License-Identifier: MIT
// What was invoiced and what came in during a month, as tables for the book-keeping (RFC 4180).
#ifndef DW_BOOK_MONTH_H
#define DW_BOOK_MONTH_H

#include "book/money/invoice.h"

// Writes a row for each rate of tax of each invoice and credit note that was issued in MONTH ("2026-11"), in the order
// of their numbers: what is credited, and what an invoice in its place takes back, stands below 0, so that the column
// sums to what was turned over. What is no month is DW_BAD_INPUT. The caller frees *CSV with free().
DwStatus dw_month_invoices(DwBook *book, const char *month, char **csv, DwMessage *message);
// Writes a row for each payment, deposit and refund of MONTH in the order of their days; refunds stand below 0.
DwStatus dw_month_payments(DwBook *book, const char *month, char **csv, DwMessage *message);

#endif
