// SPDX-License-Identifier: MIT
#include "book/money/month.h"

#include "base/memory.h"
#include "book/money/payment.h"
#include "book/store/csv.h"
#include "book/store/private.h"

#include <stdlib.h>
#include <string.h>

static DwStatus check_month(const char *month, DwMessage *message)
{
    char *first = dw_text_format("%s-01", month);
    bool fits = strlen(month) == 7 && dw_moment_is_date(first);
    free(first);
    return fits ? DW_OK : dw_fail(message, DW_BAD_INPUT, "\"%s\" is no month such as 2026-11.", month);
}

static DwStatus records_of(DwBook *book, const DwEntity *entity, const char *day, const char *rest, const char *month,
                           DwRecords *records, DwMessage *message)
{
    DwStatus status = check_month(month, message);
    if (status != DW_OK)
        return status;
    // The month was looked at: nothing else can stand in it.
    char *sql = dw_text_format("WHERE substr(%s, 1, 7) = '%s' %s", day, month, rest);
    status = dw_record_select(book, entity, sql, 0, records, message);
    free(sql);
    return status;
}

static void add_amount(const DwBook *book, DwText *csv, int64_t amount)
{
    char *text = dw_money_text(amount, book->amount_digits);
    dw_text_add(csv, ",");
    dw_csv_add(csv, text);
    free(text);
}

static void add_text(DwText *csv, const char *text)
{
    dw_text_add(csv, ",");
    dw_csv_add(csv, text ? text : "");
}

// Adds what stands before the amounts of INVOICE: KIND is what the row is, REFERS the number of the other it is about.
static DwStatus add_head(DwBook *book, DwText *csv, const DwInvoice *invoice, const char *issued_on, const char *kind,
                         const char *refers, DwMessage *message)
{
    int64_t job = 0;
    char *number = dw_invoice_number(invoice);
    DwStatus status = dw_query_number(book, "SELECT number FROM job WHERE id = ?", invoice->job_id, &job, message);
    char *job_text = dw_text_format("%04lld", (long long)job);
    dw_csv_add(csv, number);
    add_text(csv, issued_on);
    add_text(csv, invoice->supplied_on);
    add_text(csv, kind);
    add_text(csv, refers);
    add_text(csv, job_text);
    add_text(csv, invoice->customer_name);
    free(number);
    free(job_text);
    return status;
}

// The rows of INVOICE, SIGN of each amount, as issued on ISSUED_ON.
static DwStatus add_rows(DwBook *book, DwText *csv, const DwInvoice *invoice, int sign, const char *issued_on,
                         const char *kind, const char *refers, DwMessage *message)
{
    DwTaxShares shares;
    DwStatus status = dw_invoice_shares(book, invoice->record.id, &shares, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; status == DW_OK && i < shares.count; i++) {
        const DwTaxShare *share = &shares.shares[i];
        char *rate = dw_text_format("%g", 100.0 * (double)share->rate / DW_RATE_WHOLE);
        status = add_head(book, csv, invoice, issued_on, kind, refers, message);
        add_text(csv, (char[]){share->category, '\0'});
        add_text(csv, rate);
        add_amount(book, csv, sign * share->amount);
        add_amount(book, csv, sign * share->tax);
        add_amount(book, csv, sign * (share->amount + share->tax));
        add_text(csv, invoice->currency);
        dw_text_add(csv, "\r\n");
        free(rate);
    }
    dw_tax_shares_clear(&shares);
    return status;
}

// A credit note takes off; an invoice in the place of another takes that one back on its own day.
static DwStatus add_invoice(DwBook *book, DwText *csv, const DwInvoice *invoice, DwMessage *message)
{
    DwInvoice original;
    DwStatus status = DW_OK;
    bool credit = dw_invoice_is_credit(invoice);
    dw_record_init(&original.record, &dw_invoice_entity);
    if (invoice->corrects_id)
        status = dw_record_load(book, &original.record, invoice->corrects_id, message);
    char *refers = dw_invoice_number(&original), *number = dw_invoice_number(invoice);
    if (status == DW_OK && invoice->corrects_id && !credit)
        status = add_rows(book, csv, &original, -1, invoice->issued_on, "taken back", number, message);
    if (status == DW_OK)
        status = add_rows(book, csv, invoice, credit ? -1 : 1, invoice->issued_on,
                          credit                 ? "credit note"
                          : invoice->corrects_id ? "corrected invoice"
                                                 : "invoice",
                          refers, message);
    free(refers);
    free(number);
    dw_record_clear(&original.record);
    return status;
}

DwStatus dw_month_invoices(DwBook *book, const char *month, char **csv, DwMessage *message)
{
    DwRecords invoices;
    DwText text = {0};
    DwStatus status = records_of(book, &dw_invoice_entity, "issued_on", "AND state = 'issued' ORDER BY year, number",
                                 month, &invoices, message);
    if (status != DW_OK)
        return status;
    dw_text_add(&text,
                "number,issued_on,supplied_on,kind,refers_to,job,customer,tax_category,tax_rate_percent,net,tax,gross,"
                "currency\r\n");
    for (size_t i = 0; status == DW_OK && i < invoices.count; i++)
        status = add_invoice(book, &text, (const DwInvoice *)dw_records_at(&invoices, i), message);
    dw_records_clear(&invoices);
    if (status == DW_OK)
        *csv = dw_text_take(&text);
    dw_text_clear(&text);
    return status;
}

static DwStatus add_payment(DwBook *book, DwText *csv, const DwPayment *payment, DwMessage *message)
{
    static const char *const keys[] = {"kind", "method"};
    DwInvoice invoice;
    int64_t job = 0;
    dw_record_init(&invoice.record, &dw_invoice_entity);
    DwStatus status = dw_query_number(book, "SELECT number FROM job WHERE id = ?", payment->job_id, &job, message);
    if (status == DW_OK && payment->invoice_id)
        status = dw_record_load(book, &invoice.record, payment->invoice_id, message);
    char *number = dw_invoice_number(&invoice), *job_text = dw_text_format("%04lld", (long long)job);
    dw_csv_add(csv, payment->paid_on);
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        char *word = dw_record_text(book, &payment->record, dw_field_find(&dw_payment_entity, keys[i]));
        add_text(csv, word);
        free(word);
    }
    add_amount(book, csv, payment->kind == DW_PAYMENT_REFUND ? -payment->amount : payment->amount);
    add_text(csv, number);
    add_text(csv, job_text);
    add_text(csv, payment->reference);
    dw_text_add(csv, "\r\n");
    free(number);
    free(job_text);
    dw_record_clear(&invoice.record);
    return status;
}

DwStatus dw_month_payments(DwBook *book, const char *month, char **csv, DwMessage *message)
{
    DwRecords payments;
    DwText text = {0};
    DwStatus status =
        records_of(book, &dw_payment_entity, "paid_on", "ORDER BY paid_on, id", month, &payments, message);
    if (status != DW_OK)
        return status;
    dw_text_add(&text, "paid_on,kind,method,amount,invoice,job,reference\r\n");
    for (size_t i = 0; status == DW_OK && i < payments.count; i++)
        status = add_payment(book, &text, (const DwPayment *)dw_records_at(&payments, i), message);
    dw_records_clear(&payments);
    if (status == DW_OK)
        *csv = dw_text_take(&text);
    dw_text_clear(&text);
    return status;
}
