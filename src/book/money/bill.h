// SPDX-License-Identifier: MIT
// What estimates and invoices share: lines that bill something, and their totals.
#ifndef DW_BOOK_BILL_H
#define DW_BOOK_BILL_H

#include "book/store/record.h"
#include "book/store/words.h"

typedef enum {
    DW_LINE_LABOUR,
    DW_LINE_PART,
    DW_LINE_MATERIALS,
    DW_LINE_CARRIAGE,
    DW_LINE_CHARGE,
    DW_LINE_CREDIT,
} DwLineKind;

// A line of an estimate or of an invoice: which of them, its entity says.
typedef struct {
    DwRecord record;
    int64_t bill_id;
    int tier; // DwTier: the least option of an estimate that contains it; of an invoice 0
    int kind; // DwLineKind
    char *name;
    int64_t minutes;
    double quantity;
    int64_t price;
    int64_t amount;
} DwBillLine;

extern const DwEntity dw_estimate_line_entity;
extern const DwEntity dw_invoice_line_entity;

// Tax is worked out once, on the sum of the lines, halves away from zero.
typedef struct {
    int64_t net;
    int64_t tax;
    int64_t gross;
} DwTotals;

// Sums the lines before tax, the tax and both together, in the smallest unit of the currency.
DwTotals dw_bill_totals(int64_t net, int64_t tax_rate);
// The amount of a line: labour is MINUTES at the hourly PRICE (the shop's rate
// where PRICE is none, which it then becomes); anything else is QUANTITY at PRICE.
// A line whose price is not known is DW_BAD_INPUT.
DwStatus dw_bill_amount(DwBook *book, DwLineKind kind, int64_t minutes, double quantity, int64_t *price,
                        int64_t *amount, DwMessage *message);
// Adds an initialised LINE to a draft; its amount is worked out where it is none.
DwStatus dw_bill_add(DwBook *book, DwBillLine *line, DwMessage *message);
// Adds the lines of ESTIMATE that its option TIER contains to the draft BILL, an estimate or an invoice by the entity
// LINES of its lines.
DwStatus dw_bill_take_over(DwBook *book, int64_t estimate, DwTier tier, const DwEntity *lines, int64_t bill,
                           DwMessage *message);

#endif
