// SPDX-License-Identifier: MIT
#include "book/money/invoice.h"

#include "base/memory.h"
#include "book/money/consent.h"
#include "book/money/estimate.h"
#include "book/money/unbilled.h"
#include "book/shop/customer.h"
#include "book/store/private.h"
#include "book/shop/settings.h"

#include <stdlib.h>
#include <string.h>

static const DwField invoice_fields[] = {
    {"job_id", "Job", DW_FIELD_REFERENCE, offsetof(DwInvoice, job_id), .refers = "job", .required = true},
    {"number", "Number", DW_FIELD_INTEGER, offsetof(DwInvoice, number), .kept = true},
    {"state", "State", DW_FIELD_CHOICE, offsetof(DwInvoice, state), .choices = "draft|issued", .kept = true},
    {"issued_on", "Issued on", DW_FIELD_DATE, offsetof(DwInvoice, issued_on), .kept = true},
    {"customer_name", "Name", DW_FIELD_TEXT, offsetof(DwInvoice, customer_name), .personal = true},
    {"customer_address", "Address", DW_FIELD_TEXT, offsetof(DwInvoice, customer_address), .lines = true,
     .personal = true},
    {"tax_rate", "Tax rate", DW_FIELD_RATE, offsetof(DwInvoice, tax_rate)},
    {"paid_on", "Paid on", DW_FIELD_DATE, offsetof(DwInvoice, paid_on), .kept = true},
    {"corrects_id", "Corrects invoice", DW_FIELD_REFERENCE, offsetof(DwInvoice, corrects_id), .refers = "invoice"},
    {"words", "Words", DW_FIELD_TEXT, offsetof(DwInvoice, words), .lines = true},
    {"warranty_from", "Warranty from", DW_FIELD_DATE, offsetof(DwInvoice, warranty_from)},
    {"warranty_until", "Warranty until", DW_FIELD_DATE, offsetof(DwInvoice, warranty_until)},
    {"warranty_covers", "It covers", DW_FIELD_TEXT, offsetof(DwInvoice, warranty_covers), .lines = true},
    {"warranty_excludes", "It excludes", DW_FIELD_TEXT, offsetof(DwInvoice, warranty_excludes), .lines = true},
};

static const DwField notice_fields[] = {
    {"job_id", "Job", DW_FIELD_REFERENCE, offsetof(DwNotice, job_id), .refers = "job", .required = true},
    {"kind", "Kind", DW_FIELD_CHOICE, offsetof(DwNotice, kind), .choices = "ready|reminder|storage charge|last notice"},
    {"sent_on", "Sent on", DW_FIELD_DATE, offsetof(DwNotice, sent_on), .required = true},
    {"how", "How", DW_FIELD_CHOICE, offsetof(DwNotice, how), .choices = DW_ROUTE_WORDS},
    {"words", "Words", DW_FIELD_TEXT, offsetof(DwNotice, words), .lines = true, .personal = true},
};

const DwEntity dw_invoice_entity = {"invoice",
                                    "invoice",
                                    sizeof(DwInvoice),
                                    invoice_fields,
                                    sizeof invoice_fields / sizeof *invoice_fields,
                                    .of_customer = DW_JOBS_OF_CUSTOMER};
const DwEntity dw_notice_entity = {"notice",
                                   "notice",
                                   sizeof(DwNotice),
                                   notice_fields,
                                   sizeof notice_fields / sizeof *notice_fields,
                                   .of_customer = DW_JOBS_OF_CUSTOMER};

static DwStatus take_over_customer(DwBook *book, int64_t job_id, DwInvoice *invoice, DwMessage *message)
{
    int64_t customer_id = 0;
    DwCustomer customer;
    dw_record_init(&customer.record, &dw_customer_entity);
    DwStatus status = dw_query_number(book, "SELECT customer_id FROM job WHERE id = ?", job_id, &customer_id, message);
    if (status == DW_OK && !customer_id)
        status = dw_fail(message, DW_BAD_INPUT, "There is no job number %lld in the book.", (long long)job_id);
    if (status == DW_OK)
        status = dw_record_load(book, &customer.record, customer_id, message);
    if (status == DW_OK) {
        dw_field_replace(&invoice->customer_name, customer.name);
        dw_field_replace(&invoice->customer_address, customer.address);
    }
    dw_record_clear(&customer.record);
    return status;
}

static DwStatus check_estimate(DwBook *book, int64_t estimate, int64_t job, DwMessage *message)
{
    int64_t of_job = 0;
    DwStatus status = dw_query_number(book, "SELECT job_id FROM estimate WHERE id = ?", estimate, &of_job, message);
    if (status == DW_OK && !of_job)
        return dw_fail(message, DW_BAD_INPUT, "There is no estimate number %lld in the book.", (long long)estimate);
    if (status == DW_OK && of_job != job)
        return dw_fail(message, DW_BAD_INPUT, "That estimate belongs to another job.");
    return status;
}

DwStatus dw_invoice_draft(DwBook *book, int64_t job, int64_t estimate, DwTier tier, DwInvoice *invoice,
                          DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    invoice->job_id = job;
    invoice->tax_rate = dw_settings_rate(book, "money.tax_rate");
    free(invoice->warranty_covers);
    invoice->warranty_covers = dw_settings_text(book, "warranty.covers");
    free(invoice->warranty_excludes);
    invoice->warranty_excludes = dw_settings_text(book, "warranty.excludes");
    if (estimate)
        status = check_estimate(book, estimate, job, message);
    if (status == DW_OK)
        status = take_over_customer(book, job, invoice, message);
    if (status == DW_OK)
        status = dw_record_keep(book, &invoice->record, message);
    if (status == DW_OK && estimate)
        status = dw_bill_take_over(book, estimate, tier, &dw_invoice_line_entity, invoice->record.id, message);
    size_t proposed;
    if (status == DW_OK && !estimate)
        status = dw_unbilled_propose(book, job, invoice->record.id, &proposed, message);
    status = dw_book_end(book, status, message);
    if (status != DW_OK)
        invoice->record.id = 0;
    return status;
}

static DwStatus number_and_date(DwBook *book, DwInvoice *invoice, DwMessage *message)
{
    if (invoice->state == DW_INVOICE_ISSUED)
        return dw_fail(message, DW_BAD_INPUT, "Invoice %lld is issued already. Correct it with another one.",
                       (long long)invoice->number);
    char today[DW_DATE_SIZE], end[DW_DATE_SIZE];
    dw_book_today(book, today);
    dw_moment_add_days(today, (long)dw_settings_integer(book, "warranty.days"), end);
    invoice->state = DW_INVOICE_ISSUED;
    dw_field_replace(&invoice->issued_on, today);
    if (!invoice->warranty_from)
        dw_field_replace(&invoice->warranty_from, today);
    if (!invoice->warranty_until)
        dw_field_replace(&invoice->warranty_until, end);
    return dw_query_number(book, "SELECT coalesce(max(number), 0) + 1 FROM invoice", 0, &invoice->number, message);
}

// What JOB's issued invoices ask for, those that another one corrects aside.
static DwStatus total_issued(DwBook *book, int64_t job, int64_t *gross, DwMessage *message)
{
    DwRecords invoices;
    *gross = 0;
    DwStatus status = dw_record_select(book, &dw_invoice_entity,
                                       "WHERE job_id = ? AND state = 'issued' AND id NOT IN (SELECT corrects_id FROM "
                                       "invoice WHERE corrects_id IS NOT NULL AND state = 'issued')",
                                       job, &invoices, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; status == DW_OK && i < invoices.count; i++) {
        DwTotals totals = {0};
        status = dw_invoice_totals(book, dw_records_at(&invoices, i)->id, &totals, message);
        *gross += totals.gross;
    }
    dw_records_clear(&invoices);
    return status;
}

// More than was agreed is asked for first. Once INVOICE is issued it counts like the others.
static DwStatus check_agreed(DwBook *book, const DwInvoice *invoice, DwMessage *message)
{
    int64_t agreed = DW_AMOUNT_NONE, gross = 0;
    DwStatus status = dw_consent_agreed(book, invoice->job_id, &agreed, message);
    if (status == DW_OK)
        status = total_issued(book, invoice->job_id, &gross, message);
    if (status != DW_OK || agreed == DW_AMOUNT_NONE || gross <= agreed)
        return status;
    int digits = (int)dw_settings_integer(book, "money.digits");
    char *asked = dw_money_text(gross, digits), *limit = dw_money_text(agreed, digits);
    dw_fail(message, DW_BAD_INPUT,
            "The job's invoices come to %s, and %s was agreed to. Ask the owner, and write down the new answer first.",
            asked, limit);
    free(asked);
    free(limit);
    return DW_BAD_INPUT;
}

DwStatus dw_invoice_issue(DwBook *book, int64_t id, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    DwInvoice invoice;
    int64_t lines = 0;
    dw_record_init(&invoice.record, &dw_invoice_entity);
    status = dw_record_load(book, &invoice.record, id, message);
    if (status == DW_OK)
        status = dw_query_number(book, "SELECT count(*) FROM invoice_line WHERE invoice_id = ?", id, &lines, message);
    if (status == DW_OK && lines == 0)
        status =
            dw_fail(message, DW_BAD_INPUT, "The invoice has no lines yet. Add what was done, even free of charge.");
    if (status == DW_OK)
        status = number_and_date(book, &invoice, message);
    if (status == DW_OK)
        status = dw_record_keep(book, &invoice.record, message);
    if (status == DW_OK)
        status = check_agreed(book, &invoice, message);
    dw_record_clear(&invoice.record);
    return dw_book_end(book, status, message);
}

static DwStatus check_paid(DwBook *book, const char *paid_on, DwMessage *message)
{
    char today[DW_DATE_SIZE];
    dw_book_today(book, today);
    if (!paid_on || !*paid_on)
        return DW_OK;
    if (!dw_moment_is_date(paid_on) || strcmp(paid_on, "1870") < 0)
        return dw_fail(message, DW_BAD_INPUT, "Paid on is no day or moment of the calendar.");
    // A day in advance of the bench's clock may be the day already where the payment was made.
    return dw_moment_days_between(today, paid_on) > 1
               ? dw_fail(message, DW_BAD_INPUT, "%s is still to come. Note a payment on the day that it is made.",
                         paid_on)
               : DW_OK;
}

DwStatus dw_invoice_pay(DwBook *book, int64_t id, const char *paid_on, DwMessage *message)
{
    DwInvoice invoice;
    dw_record_init(&invoice.record, &dw_invoice_entity);
    DwStatus status = dw_record_load(book, &invoice.record, id, message);
    if (status == DW_OK && invoice.state != DW_INVOICE_ISSUED)
        status = dw_fail(message, DW_BAD_INPUT, "The invoice is still a draft. Issue it first.");
    if (status == DW_OK)
        status = check_paid(book, paid_on, message);
    if (status == DW_OK) {
        dw_field_replace(&invoice.paid_on, paid_on);
        status = dw_record_keep(book, &invoice.record, message);
    }
    dw_record_clear(&invoice.record);
    return status;
}

DwStatus dw_invoice_totals(DwBook *book, int64_t id, DwTotals *totals, DwMessage *message)
{
    int64_t net = 0, rate = 0;
    DwStatus status = dw_query_number(book, "SELECT coalesce(sum(amount), 0) FROM invoice_line WHERE invoice_id = ?",
                                      id, &net, message);
    if (status == DW_OK)
        status = dw_query_number(book, "SELECT tax_rate FROM invoice WHERE id = ?", id, &rate, message);
    if (status == DW_OK)
        *totals = dw_bill_totals(net, rate);
    return status;
}
