// SPDX-License-Identifier: MIT
#include "book/money/bill.h"

#include "book/shop/settings.h"
#include "book/store/private.h"

#include <math.h>

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
};

static const DwField invoice_line_fields[] = {
    {"invoice_id", "Invoice", DW_FIELD_REFERENCE, offsetof(DwBillLine, bill_id), .refers = "invoice", .required = true},
    {"kind", "Kind", DW_FIELD_CHOICE, offsetof(DwBillLine, kind), .choices = DW_LINE_WORDS},
    {"name", "Line", DW_FIELD_TEXT, offsetof(DwBillLine, name), .required = true},
    {"minutes", "Minutes", DW_FIELD_INTEGER, offsetof(DwBillLine, minutes), .high = 100000},
    {"quantity", "Quantity", DW_FIELD_REAL, offsetof(DwBillLine, quantity)},
    {"price", "Price", DW_FIELD_AMOUNT, offsetof(DwBillLine, price)},
    {"amount", "Amount", DW_FIELD_AMOUNT, offsetof(DwBillLine, amount), .required = true},
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

DwTotals dw_bill_totals(int64_t net, int64_t tax_rate)
{
    int64_t tax = dw_money_share(net, tax_rate);
    return (DwTotals){net, tax, net + tax};
}

DwStatus dw_bill_amount(DwBook *book, DwLineKind kind, int64_t minutes, double quantity, int64_t *price,
                        int64_t *amount, DwMessage *message)
{
    if (kind == DW_LINE_LABOUR && minutes > 0) {
        if (*price == DW_AMOUNT_NONE)
            *price = dw_settings_amount(book, "money.labour_rate");
        if (*price != DW_AMOUNT_NONE) {
            *amount = dw_money_labour(minutes, *price);
            return DW_OK;
        }
    }
    if (*price == DW_AMOUNT_NONE)
        return dw_fail(message, DW_BAD_INPUT, "The line has neither an amount nor a price. Give one of them.");
    *amount = dw_money_times(*price, isnan(quantity) ? 1 : quantity);
    return DW_OK;
}

DwStatus dw_bill_add(DwBook *book, DwBillLine *line, DwMessage *message)
{
    if (line->amount == DW_AMOUNT_NONE) {
        DwStatus status = dw_bill_amount(book, (DwLineKind)line->kind, line->minutes, line->quantity, &line->price,
                                         &line->amount, message);
        if (status != DW_OK)
            return status;
    }
    return dw_record_save(book, &line->record, message);
}

static DwStatus copy_line(DwBook *book, const DwBillLine *from, const DwEntity *lines, int64_t bill, DwMessage *message)
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
            status = copy_line(book, from, lines, bill, message);
    }
    dw_records_clear(&records);
    return status;
}
