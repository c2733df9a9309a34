// SPDX-License-Identifier: MIT
// What estimates and invoices share: lines that bill something, and their totals by the rules of EN 16931-1 (2017),
// table of rules in 6.4: each amount is named there, as BT-…, and so is what it follows from, as BR-….
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

// How a line is taxed.
typedef enum {
    DW_TAX_OF_BILL,  // at the bill's rate; where that is 0, exempt
    DW_TAX_OWN_RATE, // at the line's own rate
    DW_TAX_ZERO,     // taxed at 0 %, as some goods are
    DW_TAX_EXEMPT,
} DwTaxKind;

#define DW_TAX_WORDS "as the bill|own rate|zero rated|exempt"

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
    int64_t amount;   // BT-131, without tax
    int tax;          // DwTaxKind
    int64_t tax_rate; // of DW_TAX_OWN_RATE
    int64_t job_id;   // of an invoice: the job that it is of where that is not the invoice's own, else 0
} DwBillLine;

extern const DwEntity dw_estimate_line_entity;
extern const DwEntity dw_invoice_line_entity;

// Each line is rounded to the smallest unit of the currency; tax is worked out once for each rate, on the sum of its
// lines, and rounded then, halves away from zero (BR-CO-17).
typedef struct {
    char category;  // UNTDID 5305 (BT-118): S standard rate, Z zero rated, E exempt
    int64_t rate;   // BT-119
    int64_t amount; // BT-116, the sum of the lines at that rate
    int64_t tax;    // BT-117
} DwTaxShare;

// In the order S from the highest rate, Z, E.
typedef struct {
    DwTaxShare *shares;
    size_t count;
} DwTaxShares;

typedef struct {
    int64_t net;   // BT-109
    int64_t tax;   // BT-110
    int64_t gross; // BT-112
} DwTotals;

// Sums LINES up to the option TIER of a bill whose rate is RATE. More than DW_AMOUNT_MOST in all is DW_BAD_INPUT. The
// caller frees *SHARES with dw_tax_shares_clear().
DwStatus dw_bill_shares(const DwRecords *lines, DwTier tier, int64_t rate, DwTaxShares *shares, DwMessage *message);
// The share of SHARES for the category and rate of WANTED, added in its place with nothing in it where there is none.
DwTaxShare *dw_tax_shares_find(DwTaxShares *shares, DwTaxShare wanted);
// Frees what they hold and empties them.
void dw_tax_shares_clear(DwTaxShares *shares);
// Their sums.
DwTotals dw_bill_totals(const DwTaxShares *shares);
// How LINE is taxed on a bill whose rate is RATE: its category and its rate, the amounts left 0.
DwTaxShare dw_bill_line_tax(const DwBillLine *line, int64_t rate);

// The amount of a line: labour is MINUTES at the hourly PRICE (the shop's rate
// where PRICE is none, which it then becomes); anything else is QUANTITY at PRICE.
// A line whose price is not known, or that is more than the book can bill, is DW_BAD_INPUT.
DwStatus dw_bill_amount(DwBook *book, DwLineKind kind, int64_t minutes, double quantity, int64_t *price,
                        int64_t *amount, DwMessage *message);
// Adds an initialised LINE to a draft; its amount is worked out where it is none.
DwStatus dw_bill_add(DwBook *book, DwBillLine *line, DwMessage *message);
// Keeps what was changed in a loaded LINE.
DwStatus dw_bill_change(DwBook *book, DwBillLine *line, DwMessage *message);
// Adds the lines of ESTIMATE that its option TIER contains to the draft BILL, an estimate or an invoice by the entity
// LINES of its lines.
DwStatus dw_bill_take_over(DwBook *book, int64_t estimate, DwTier tier, const DwEntity *lines, int64_t bill,
                           DwMessage *message);
// Adds a copy of the line FROM to BILL.
DwStatus dw_bill_copy_line(DwBook *book, const DwBillLine *from, const DwEntity *lines, int64_t bill,
                           DwMessage *message);

#endif
