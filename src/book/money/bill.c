// SPDX-License-Identifier: MIT
#include "book/money/bill.h"

#include "base/memory.h"
#include "book/shop/settings.h"
#include "book/store/private.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const DwField estimate_line_fields[] = {
    {"estimate_id", "Estimate", DW_FIELD_REFERENCE, offsetof(DwBillLine, bill_id), .refers = "estimate",
     .required = true},
    {"tier", "Option", DW_FIELD_CHOICE, offsetof(DwBillLine, tier), .choices = DW_TIER_WORDS,
     .help = "The least option that contains it; the greater ones contain it too."},
    {"kind", "Kind", DW_FIELD_CHOICE, offsetof(DwBillLine, kind), .choices = DW_LINE_WORDS},
    {"name", "Line", DW_FIELD_TEXT, offsetof(DwBillLine, name), .required = true},
    {"minutes", "Minutes", DW_FIELD_INTEGER, offsetof(DwBillLine, minutes), .high = 100000},
    {"quantity", "Quantity", DW_FIELD_REAL, offsetof(DwBillLine, quantity)},
    {"price", "Price", DW_FIELD_AMOUNT, offsetof(DwBillLine, price)},
    {"amount", "Amount", DW_FIELD_AMOUNT, offsetof(DwBillLine, amount), .required = true},
    {"tax", "Tax", DW_FIELD_CHOICE, offsetof(DwBillLine, tax), .choices = DW_TAX_WORDS},
    {"tax_rate", "Own tax rate", DW_FIELD_RATE, offsetof(DwBillLine, tax_rate), .help = "Of a line with its own rate."},
};

static const DwField invoice_line_fields[] = {
    {"invoice_id", "Invoice", DW_FIELD_REFERENCE, offsetof(DwBillLine, bill_id), .refers = "invoice", .required = true},
    {"kind", "Kind", DW_FIELD_CHOICE, offsetof(DwBillLine, kind), .choices = DW_LINE_WORDS},
    {"name", "Line", DW_FIELD_TEXT, offsetof(DwBillLine, name), .required = true},
    {"minutes", "Minutes", DW_FIELD_INTEGER, offsetof(DwBillLine, minutes), .high = 100000},
    {"quantity", "Quantity", DW_FIELD_REAL, offsetof(DwBillLine, quantity)},
    {"price", "Price", DW_FIELD_AMOUNT, offsetof(DwBillLine, price)},
    {"amount", "Amount", DW_FIELD_AMOUNT, offsetof(DwBillLine, amount), .required = true},
    {"tax", "Tax", DW_FIELD_CHOICE, offsetof(DwBillLine, tax), .choices = DW_TAX_WORDS},
    {"tax_rate", "Own tax rate", DW_FIELD_RATE, offsetof(DwBillLine, tax_rate), .help = "Of a line with its own rate."},
    {"job_id", "Of job", DW_FIELD_REFERENCE, offsetof(DwBillLine, job_id), .refers = "job",
     .help = "Of a visit with several jobs, where they are billed together."},
};

const DwEntity dw_estimate_line_entity = {"estimate_line",
                                          "line of an estimate",
                                          sizeof(DwBillLine),
                                          estimate_line_fields,
                                          sizeof estimate_line_fields / sizeof *estimate_line_fields,
                                          .of_customer =
                                              "estimate_id IN (SELECT id FROM estimate WHERE " DW_JOBS_OF_CUSTOMER ")"};
const DwEntity dw_invoice_line_entity = {"invoice_line",
                                         "line of an invoice",
                                         sizeof(DwBillLine),
                                         invoice_line_fields,
                                         sizeof invoice_line_fields / sizeof *invoice_line_fields,
                                         .of_customer =
                                             "invoice_id IN (SELECT id FROM invoice WHERE " DW_JOBS_OF_CUSTOMER ")"};

DwTaxShare dw_bill_line_tax(const DwBillLine *line, int64_t rate)
{
    int64_t own = line->tax == DW_TAX_OWN_RATE ? line->tax_rate : line->tax == DW_TAX_OF_BILL ? rate : 0;
    // A standard rate is above 0 (BR-S-05); without one nothing is charged, which is an exemption unless it is said
    // to be taxed at 0 %.
    char category = own > 0 ? 'S' : line->tax == DW_TAX_ZERO ? 'Z' : 'E';
    return (DwTaxShare){.category = category, .rate = own};
}

static int place_of(const DwTaxShare *share)
{
    return share->category == 'S' ? 0 : share->category == 'Z' ? 1 : 2;
}

DwTaxShare *dw_tax_shares_find(DwTaxShares *shares, DwTaxShare wanted)
{
    size_t at = 0;
    while (at < shares->count &&
           (place_of(&shares->shares[at]) < place_of(&wanted) ||
            (place_of(&shares->shares[at]) == place_of(&wanted) && shares->shares[at].rate > wanted.rate)))
        at++;
    if (at < shares->count && shares->shares[at].category == wanted.category && shares->shares[at].rate == wanted.rate)
        return &shares->shares[at];
    shares->shares = dw_memory_resize(shares->shares, shares->count + 1, sizeof *shares->shares);
    memmove(&shares->shares[at + 1], &shares->shares[at], (shares->count - at) * sizeof *shares->shares);
    shares->shares[at] = (DwTaxShare){.category = wanted.category, .rate = wanted.rate};
    shares->count++;
    return &shares->shares[at];
}

static bool is_too_much(int64_t amount)
{
    return amount > DW_AMOUNT_MOST || amount < -DW_AMOUNT_MOST;
}

DwStatus dw_bill_shares(const DwRecords *lines, DwTier tier, int64_t rate, DwTaxShares *shares, DwMessage *message)
{
    DwTaxShares made = {0};
    bool too_much = false;
    for (size_t i = 0; i < lines->count && !too_much; i++) {
        const DwBillLine *line = (const DwBillLine *)dw_records_at(lines, i);
        if (line->tier > (int)tier)
            continue;
        DwTaxShare *share = dw_tax_shares_find(&made, dw_bill_line_tax(line, rate));
        share->amount += line->amount;
        too_much = is_too_much(line->amount) || is_too_much(share->amount);
    }
    for (size_t i = 0; i < made.count && !too_much; i++)
        made.shares[i].tax = dw_money_share(made.shares[i].amount, made.shares[i].rate);
    if (!too_much && !is_too_much(dw_bill_totals(&made).gross)) {
        *shares = made;
        return DW_OK;
    }
    dw_tax_shares_clear(&made);
    return dw_fail(message, DW_BAD_INPUT, "The lines come to more than the book can bill. Look at their prices.");
}

void dw_tax_shares_clear(DwTaxShares *shares)
{
    free(shares->shares);
    *shares = (DwTaxShares){0};
}

DwTotals dw_bill_totals(const DwTaxShares *shares)
{
    DwTotals totals = {0};
    for (size_t i = 0; i < shares->count; i++) {
        totals.net += shares->shares[i].amount; // BR-CO-13
        totals.tax += shares->shares[i].tax;    // BR-CO-14
    }
    totals.gross = totals.net + totals.tax; // BR-CO-15
    return totals;
}

DwStatus dw_bill_amount(DwBook *book, DwLineKind kind, int64_t minutes, double quantity, int64_t *price,
                        int64_t *amount, DwMessage *message)
{
    bool fits = false, labour = kind == DW_LINE_LABOUR && minutes > 0;
    if (labour && *price == DW_AMOUNT_NONE)
        *price = dw_settings_amount(book, "money.labour_rate");
    if (*price == DW_AMOUNT_NONE)
        return dw_fail(message, DW_BAD_INPUT, "The line has neither an amount nor a price. Give one of them.");
    if (labour)
        fits = dw_money_labour(minutes, *price, amount);
    else
        fits = dw_money_times(*price, isnan(quantity) ? 1 : quantity, amount);
    return fits ? DW_OK
                : dw_fail(message, DW_BAD_INPUT,
                          "The line comes to more than the book can bill. Look at its price and its quantity.");
}

static DwStatus check_line(const DwBillLine *line, DwMessage *message)
{
    if (line->kind == DW_LINE_CREDIT && line->amount > 0)
        return dw_fail(message, DW_BAD_INPUT, "A credit takes off the bill: give its amount with a minus sign.");
    if (line->tax == DW_TAX_OWN_RATE && line->tax_rate <= 0)
        return dw_fail(message, DW_BAD_INPUT,
                       "A line with its own tax rate needs a rate above 0. At 0 %% it is zero rated or exempt.");
    if (line->tax != DW_TAX_OWN_RATE && line->tax_rate != 0)
        return dw_fail(message, DW_BAD_INPUT, "A tax rate of the line's own is given with tax=own-rate.");
    return DW_OK;
}

// Whether the bill of LINE can still be summed up.
static DwStatus check_bill(DwBook *book, const DwBillLine *line, DwMessage *message)
{
    DwRecords lines;
    DwTaxShares shares;
    DwStatus status =
        dw_record_list(book, line->record.entity, line->record.entity->fields[0].key, line->bill_id, &lines, message);
    if (status != DW_OK)
        return status;
    // At twice the amount, which no tax exceeds.
    status = dw_bill_shares(&lines, DW_TIER_FULL, DW_RATE_WHOLE, &shares, message);
    if (status == DW_OK)
        dw_tax_shares_clear(&shares);
    dw_records_clear(&lines);
    return status;
}

static DwStatus keep_line(DwBook *book, DwBillLine *line, DwMessage *message)
{
    bool added = line->record.id == 0;
    DwStatus status = check_line(line, message);
    if (status == DW_OK)
        status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    status = dw_record_save(book, &line->record, message);
    if (status == DW_OK)
        status = check_bill(book, line, message);
    status = dw_book_end(book, status, message);
    if (status != DW_OK && added)
        line->record.id = 0;
    return status;
}

// Whether the amount of LINE is what its price comes to, where it has one.
static bool is_of_price(DwBook *book, const DwBillLine *line)
{
    int64_t price = line->price, amount = line->amount;
    return price == DW_AMOUNT_NONE || (dw_bill_amount(book, (DwLineKind)line->kind, line->minutes, line->quantity,
                                                      &price, &amount, NULL) == DW_OK &&
                                       amount == line->amount);
}

DwStatus dw_bill_add(DwBook *book, DwBillLine *line, DwMessage *message)
{
    if (line->amount != DW_AMOUNT_NONE && !is_of_price(book, line))
        return dw_fail(message, DW_BAD_INPUT, "The amount is not what the price comes to. Give one of them.");
    if (line->amount == DW_AMOUNT_NONE) {
        DwStatus status = dw_bill_amount(book, (DwLineKind)line->kind, line->minutes, line->quantity, &line->price,
                                         &line->amount, message);
        if (status != DW_OK)
            return status;
    }
    return keep_line(book, line, message);
}

static bool same_real(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

// An amount follows what it was worked out from unless it was itself typed anew.
static DwStatus follow_amount(DwBook *book, DwBillLine *now, DwMessage *message)
{
    DwBillLine before;
    dw_record_init(&before.record, now->record.entity);
    DwStatus status = dw_record_load(book, &before.record, now->record.id, message);
    if (status == DW_OK) {
        bool moved = now->kind != before.kind || now->minutes != before.minutes || now->price != before.price ||
                     !same_real(now->quantity, before.quantity);
        if (now->amount == DW_AMOUNT_NONE || (now->amount == before.amount && moved))
            status = dw_bill_amount(book, (DwLineKind)now->kind, now->minutes, now->quantity, &now->price, &now->amount,
                                    message);
        else if (!is_of_price(book, now))
            now->price = DW_AMOUNT_NONE; // typed anew, it is no longer the price's
    }
    dw_record_clear(&before.record);
    return status;
}

DwStatus dw_bill_change(DwBook *book, DwBillLine *line, DwMessage *message)
{
    DwStatus status = follow_amount(book, line, message);
    return status == DW_OK ? keep_line(book, line, message) : status;
}

DwStatus dw_bill_copy_line(DwBook *book, const DwBillLine *from, const DwEntity *lines, int64_t bill,
                           DwMessage *message)
{
    DwBillLine line;
    dw_record_init(&line.record, lines);
    line.bill_id = bill;
    line.tier = lines == &dw_estimate_line_entity ? from->tier : 0;
    line.kind = from->kind;
    dw_field_replace(&line.name, from->name);
    line.minutes = from->minutes;
    line.quantity = from->quantity;
    line.price = from->price;
    line.amount = from->amount;
    line.tax = from->tax;
    line.tax_rate = from->tax_rate;
    line.job_id = lines == from->record.entity ? from->job_id : 0;
    DwStatus status = dw_record_save(book, &line.record, message);
    dw_record_clear(&line.record);
    return status;
}

DwStatus dw_bill_take_over(DwBook *book, int64_t estimate, DwTier tier, const DwEntity *lines, int64_t bill,
                           DwMessage *message)
{
    DwRecords records;
    DwStatus status = dw_record_list(book, &dw_estimate_line_entity, "estimate_id", estimate, &records, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; status == DW_OK && i < records.count; i++) {
        const DwBillLine *from = (const DwBillLine *)dw_records_at(&records, i);
        if (from->tier <= (int)tier)
            status = dw_bill_copy_line(book, from, lines, bill, message);
    }
    dw_records_clear(&records);
    return status;
}
