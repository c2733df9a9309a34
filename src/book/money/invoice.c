// SPDX-License-Identifier: MIT
#include "book/money/invoice.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/money/consent.h"
#include "book/money/credit.h"
#include "book/money/estimate.h"
#include "book/money/frozen.h"
#include "book/money/payment.h"
#include "book/money/unbilled.h"
#include "book/shop/customer.h"
#include "book/store/private.h"
#include "book/shop/settings.h"

#include <stdlib.h>
#include <string.h>

static const DwField invoice_fields[] = {
    {"job_id", "Job", DW_FIELD_REFERENCE, offsetof(DwInvoice, job_id), .refers = "job", .required = true},
    {"kind", "Kind", DW_FIELD_CHOICE, offsetof(DwInvoice, kind), .choices = "invoice|credit note|cancellation",
     .kept = true},
    {"year", "Year", DW_FIELD_INTEGER, offsetof(DwInvoice, year), .kept = true},
    {"number", "Number", DW_FIELD_INTEGER, offsetof(DwInvoice, number), .kept = true},
    {"state", "State", DW_FIELD_CHOICE, offsetof(DwInvoice, state), .choices = "draft|issued", .kept = true},
    {"issued_on", "Issued on", DW_FIELD_DATE, offsetof(DwInvoice, issued_on), .kept = true},
    {"issued_at", "Issued at", DW_FIELD_MOMENT, offsetof(DwInvoice, issued_at), .kept = true},
    {"supplied_on", "Day of supply", DW_FIELD_DATE, offsetof(DwInvoice, supplied_on)},
    {"customer_name", "Name", DW_FIELD_TEXT, offsetof(DwInvoice, customer_name), .personal = true},
    {"customer_address", "Address", DW_FIELD_TEXT, offsetof(DwInvoice, customer_address), .lines = true,
     .personal = true},
    {"customer_country", "Country", DW_FIELD_TEXT, offsetof(DwInvoice, customer_country)},
    {"tax_rate", "Tax rate", DW_FIELD_RATE, offsetof(DwInvoice, tax_rate)},
    {"exempt_reason", "Why no tax is charged", DW_FIELD_TEXT, offsetof(DwInvoice, exempt_reason)},
    {"currency", "Currency", DW_FIELD_TEXT, offsetof(DwInvoice, currency), .kept = true},
    {"due_on", "To be paid by", DW_FIELD_DATE, offsetof(DwInvoice, due_on)},
    {"terms", "Terms of payment", DW_FIELD_TEXT, offsetof(DwInvoice, terms), .lines = true},
    {"account", "Into the account", DW_FIELD_TEXT, offsetof(DwInvoice, account)},
    {"paid_on", "Paid on", DW_FIELD_DATE, offsetof(DwInvoice, paid_on), .kept = true},
    {"corrects_id", "Corrects invoice", DW_FIELD_REFERENCE, offsetof(DwInvoice, corrects_id), .refers = "invoice"},
    {"words", "Words", DW_FIELD_TEXT, offsetof(DwInvoice, words), .lines = true},
    {"warranty_from", "Warranty from", DW_FIELD_DATE, offsetof(DwInvoice, warranty_from)},
    {"warranty_until", "Warranty until", DW_FIELD_DATE, offsetof(DwInvoice, warranty_until)},
    {"warranty_covers", "It covers", DW_FIELD_TEXT, offsetof(DwInvoice, warranty_covers), .lines = true},
    {"warranty_excludes", "It excludes", DW_FIELD_TEXT, offsetof(DwInvoice, warranty_excludes), .lines = true},
    {"shop_name", "Name of the shop", DW_FIELD_TEXT, offsetof(DwInvoice, shop_name), .kept = true},
    {"shop_address", "Address of the shop", DW_FIELD_TEXT, offsetof(DwInvoice, shop_address), .lines = true,
     .kept = true},
    {"shop_phone", "Telephone of the shop", DW_FIELD_TEXT, offsetof(DwInvoice, shop_phone), .kept = true},
    {"shop_email", "Email of the shop", DW_FIELD_TEXT, offsetof(DwInvoice, shop_email), .kept = true},
    {"shop_country", "Country of the shop", DW_FIELD_TEXT, offsetof(DwInvoice, shop_country), .kept = true},
    {"shop_tax_number", "Tax number of the shop", DW_FIELD_TEXT, offsetof(DwInvoice, shop_tax_number), .kept = true},
    {"account_name", "Account holder and bank", DW_FIELD_TEXT, offsetof(DwInvoice, account_name), .kept = true},
    {"deck_words", "The deck as billed", DW_FIELD_TEXT, offsetof(DwInvoice, deck_words), .lines = true, .kept = true},
    {"part_words", "The parts as billed", DW_FIELD_TEXT, offsetof(DwInvoice, part_words), .lines = true, .kept = true},
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
        dw_field_replace(&invoice->customer_country, customer.country);
    }
    dw_record_clear(&customer.record);
    return status;
}

// As the shop has them today.
static void take_over_settings(DwBook *book, DwInvoice *invoice)
{
    const struct {
        const char *key;
        char **place;
    } texts[] = {
        {"money.currency", &invoice->currency},         {"money.exempt_reason", &invoice->exempt_reason},
        {"money.payment_terms", &invoice->terms},       {"shop.account", &invoice->account},
        {"warranty.covers", &invoice->warranty_covers}, {"warranty.excludes", &invoice->warranty_excludes},
    };
    invoice->tax_rate = dw_settings_rate(book, "money.tax_rate");
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        free(*texts[i].place);
        *texts[i].place = dw_settings_text(book, texts[i].key);
    }
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
    take_over_settings(book, invoice);
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

bool dw_invoice_is_credit(const DwInvoice *invoice)
{
    return invoice->kind != DW_INVOICE_PLAIN;
}

char *dw_invoice_number(const DwInvoice *invoice)
{
    if (!invoice->number)
        return dw_memory_text("");
    return invoice->year ? dw_text_format("%lld-%04lld", (long long)invoice->year, (long long)invoice->number)
                         : dw_text_format("%lld", (long long)invoice->number);
}

DwStatus dw_invoice_find(DwBook *book, const char *text, DwInvoice *invoice, DwMessage *message)
{
    char *end;
    long long first = strtoll(text, &end, 10), second = *end == '-' ? strtoll(end + 1, &end, 10) : 0;
    bool numbered = strchr(text, '-') != NULL;
    if (first < 1 || *end || (numbered && second < 1))
        return dw_fail(message, DW_BAD_INPUT,
                       "\"%s\" is no invoice. Give its id, or its number with the year, such as 2026-0003.", text);
    int64_t id = first;
    if (numbered) {
        DwQuery query = dw_query_begin(book, "SELECT id FROM invoice WHERE year = ? AND number = ?");
        dw_query_bind_integer(&query, first);
        dw_query_bind_integer(&query, second);
        id = dw_query_step(&query) ? dw_query_integer(&query, 0) : 0;
        DwStatus status = dw_query_end(&query, message);
        if (status != DW_OK || !id)
            return status != DW_OK ? status
                                   : dw_fail(message, DW_BAD_INPUT, "There is no invoice number %s in the book.", text);
    }
    return dw_record_load(book, &invoice->record, id, message);
}

// The day on which the last of the job's work was done; today where none was noted.
static DwStatus set_supply(DwBook *book, DwInvoice *invoice, const char *today, DwMessage *message)
{
    char day[DW_DATE_SIZE] = "";
    if (invoice->supplied_on)
        return DW_OK;
    DwQuery query = dw_query_begin(book, "SELECT max(done_at) FROM operation WHERE job_id = ?");
    dw_query_bind_integer(&query, invoice->job_id);
    if (dw_query_step(&query) && !dw_query_is_nothing(&query, 0))
        dw_moment_day(dw_query_text(&query, 0), day);
    dw_field_replace(&invoice->supplied_on, *day ? day : today);
    return dw_query_end(&query, message);
}

static void set_warranty(DwBook *book, DwInvoice *invoice, const char *today)
{
    char end[DW_DATE_SIZE];
    dw_moment_add_days(today, (long)dw_settings_integer(book, "warranty.days"), end);
    if (!invoice->warranty_from)
        dw_field_replace(&invoice->warranty_from, today);
    if (!invoice->warranty_until)
        dw_field_replace(&invoice->warranty_until, end);
}

static DwStatus check_days(const DwInvoice *invoice, DwMessage *message)
{
    if (invoice->due_on && strcmp(invoice->due_on, invoice->issued_on) < 0)
        return dw_fail(message, DW_BAD_INPUT, "To be paid by %s: that is before the invoice is issued.",
                       invoice->due_on);
    if (invoice->warranty_until && strcmp(invoice->warranty_until, invoice->warranty_from) < 0)
        return dw_fail(message, DW_BAD_INPUT, "The warranty ends on %s, before it begins on %s.",
                       invoice->warranty_until, invoice->warranty_from);
    return DW_OK;
}

static DwStatus number_and_date(DwBook *book, DwInvoice *invoice, DwMessage *message)
{
    if (invoice->state == DW_INVOICE_ISSUED) {
        char *number = dw_invoice_number(invoice);
        dw_fail(message, DW_BAD_INPUT, "Invoice %s is issued already. Correct it with another one.", number);
        free(number);
        return DW_BAD_INPUT;
    }
    char today[DW_DATE_SIZE], due[DW_DATE_SIZE];
    dw_book_today(book, today);
    dw_moment_add_days(today, (long)dw_settings_integer(book, "money.payment_days"), due);
    invoice->state = DW_INVOICE_ISSUED;
    dw_field_replace(&invoice->issued_on, today);
    if (!dw_invoice_is_credit(invoice)) {
        set_warranty(book, invoice, today);
        if (!invoice->due_on)
            dw_field_replace(&invoice->due_on, due);
    }
    DwStatus status = set_supply(book, invoice, today, message);
    if (status == DW_OK)
        status = check_days(invoice, message);
    invoice->year = strtoll(today, NULL, 10);
    return status == DW_OK ? dw_query_number(book, "SELECT coalesce(max(number), 0) + 1 FROM invoice WHERE year = ?",
                                             invoice->year, &invoice->number, message)
                           : status;
}

// More than was agreed is asked for first. Once INVOICE is issued it counts like the others.
static DwStatus check_agreed(DwBook *book, const DwInvoice *invoice, DwMessage *message)
{
    int64_t agreed = DW_AMOUNT_NONE, gross = 0;
    DwStatus status = dw_consent_agreed(book, invoice->job_id, &agreed, message);
    if (status == DW_OK)
        status = dw_credit_asked(book, invoice->job_id, &gross, message);
    if (status != DW_OK || dw_invoice_is_credit(invoice) || agreed == DW_AMOUNT_NONE || gross <= agreed)
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

// What is left without tax says why (BR-E-10), on paper as in its electronic form.
static DwStatus check_exempt(DwBook *book, const DwInvoice *invoice, DwMessage *message)
{
    DwTaxShares shares;
    bool exempt = false;
    // A credit note says what its invoice said.
    if (dw_invoice_is_credit(invoice) || (invoice->exempt_reason && *invoice->exempt_reason))
        return DW_OK;
    DwStatus status = dw_invoice_shares(book, invoice->record.id, &shares, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < shares.count; i++)
        exempt = exempt || (shares.shares[i].category == 'E' && shares.shares[i].amount != 0);
    dw_tax_shares_clear(&shares);
    return exempt
               ? dw_fail(message, DW_BAD_INPUT,
                         "No tax is charged on some of this, and nothing says why (BR-E-10). Fill in \"Why no tax is "
                         "charged\" (exempt_reason), or give it a tax rate.")
               : DW_OK;
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
        status = dw_credit_check(book, &invoice, message);
    if (status == DW_OK)
        status = check_exempt(book, &invoice, message);
    if (status == DW_OK)
        status = dw_invoice_freeze(book, &invoice, message);
    if (status == DW_OK)
        status = dw_record_keep(book, &invoice.record, message);
    if (status == DW_OK)
        status = check_agreed(book, &invoice, message);
    if (status == DW_OK)
        status = dw_invoice_is_credit(&invoice) ? dw_payment_settle(book, invoice.corrects_id, message)
                                                : dw_payment_bring(book, &invoice, message);
    dw_record_clear(&invoice.record);
    return dw_book_end(book, status, message);
}

DwStatus dw_invoice_shares(DwBook *book, int64_t id, DwTaxShares *shares, DwMessage *message)
{
    DwRecords lines;
    int64_t rate = 0;
    DwStatus status = dw_query_number(book, "SELECT tax_rate FROM invoice WHERE id = ?", id, &rate, message);
    if (status == DW_OK)
        status = dw_record_list(book, &dw_invoice_line_entity, "invoice_id", id, &lines, message);
    if (status != DW_OK)
        return status;
    status = dw_bill_shares(&lines, DW_TIER_FULL, rate, shares, message);
    dw_records_clear(&lines);
    return status;
}

DwStatus dw_invoice_totals(DwBook *book, int64_t id, DwTotals *totals, DwMessage *message)
{
    DwTaxShares shares;
    DwStatus status = dw_invoice_shares(book, id, &shares, message);
    if (status != DW_OK)
        return status;
    *totals = dw_bill_totals(&shares);
    dw_tax_shares_clear(&shares);
    return DW_OK;
}
