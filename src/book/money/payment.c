// SPDX-License-Identifier: MIT
#include "book/money/payment.h"

#include "base/memory.h"
#include "base/tongue.h"
#include "book/job/job.h"
#include "book/money/credit.h"
#include "book/shop/settings.h"
#include "book/store/private.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const DwField payment_fields[] = {
    {"job_id", "Job", DW_FIELD_REFERENCE, offsetof(DwPayment, job_id), .refers = "job", .required = true},
    {"invoice_id", "Invoice", DW_FIELD_REFERENCE, offsetof(DwPayment, invoice_id), .refers = "invoice"},
    {"kind", "Kind", DW_FIELD_CHOICE, offsetof(DwPayment, kind), .choices = "payment|deposit|refund"},
    {"amount", "Amount", DW_FIELD_AMOUNT, offsetof(DwPayment, amount), .required = true, .not_negative = true},
    {"method", "Method", DW_FIELD_CHOICE, offsetof(DwPayment, method), .choices = DW_METHOD_WORDS},
    {"paid_on", "Paid on", DW_FIELD_DATE, offsetof(DwPayment, paid_on), .required = true},
    {"reference", "Reference", DW_FIELD_TEXT, offsetof(DwPayment, reference), .help = "Of the bank or the card."},
    {"words", "Words", DW_FIELD_TEXT, offsetof(DwPayment, words), .personal = true},
    {"at", "Written down", DW_FIELD_MOMENT, offsetof(DwPayment, at), .required = true, .kept = true},
    {"who", "By", DW_FIELD_TEXT, offsetof(DwPayment, who), .kept = true},
};

const DwEntity dw_payment_entity = {"payment",
                                    "payment",
                                    sizeof(DwPayment),
                                    payment_fields,
                                    sizeof payment_fields / sizeof *payment_fields,
                                    .of_customer = DW_JOBS_OF_CUSTOMER};

// Of the jobs that are on invoice ?1.
#define OF_INVOICE                                                                                                     \
    "(job_id = (SELECT job_id FROM invoice WHERE id = ?1) OR job_id IN (SELECT job_id FROM invoice_line WHERE "        \
    "invoice_id = ?1 AND job_id IS NOT NULL))"
#define SUM_PAID "SELECT coalesce(sum(CASE kind WHEN 'refund' THEN -amount ELSE amount END), 0) FROM payment WHERE "

static DwStatus load_invoice(DwBook *book, int64_t id, DwInvoice *invoice, DwMessage *message)
{
    dw_record_init(&invoice->record, &dw_invoice_entity);
    return dw_record_load(book, &invoice->record, id, message);
}

static DwStatus balance_of(DwBook *book, const DwInvoice *invoice, DwBalance *balance, DwMessage *message)
{
    DwTotals totals = {0};
    DwBalance read = {0};
    bool draft = invoice->state == DW_INVOICE_DRAFT;
    DwStatus status = dw_invoice_totals(book, invoice->record.id, &totals, message);
    read.gross = read.credited = totals.gross;
    if (status == DW_OK && !dw_invoice_is_credit(invoice)) {
        status = dw_credit_total(book, invoice->record.id, &read.credited, message);
        if (status == DW_OK && draft)
            status = dw_query_number(book, SUM_PAID OF_INVOICE " AND invoice_id IS NULL", invoice->record.id,
                                     &read.paid, message);
        else if (status == DW_OK)
            status = dw_query_number(book, SUM_PAID "invoice_id = ?", invoice->record.id, &read.paid, message);
    }
    read.due = read.gross - read.credited - read.paid; // BR-CO-16; what was credited is off the invoice
    if (status == DW_OK)
        *balance = read;
    return status;
}

DwStatus dw_payment_balance(DwBook *book, int64_t id, DwBalance *balance, DwMessage *message)
{
    DwInvoice invoice;
    DwStatus status = load_invoice(book, id, &invoice, message);
    if (status == DW_OK)
        status = balance_of(book, &invoice, balance, message);
    dw_record_clear(&invoice.record);
    return status;
}

// The day of the last payment of INVOICE when nothing is left to pay; NULL else. The caller frees it.
static DwStatus day_paid(DwBook *book, int64_t invoice, const DwBalance *balance, char **day, DwMessage *message)
{
    *day = NULL;
    if (balance->paid <= 0 || balance->due > 0)
        return DW_OK;
    DwQuery query = dw_query_begin(book, "SELECT max(paid_on) FROM payment WHERE invoice_id = ? AND kind <> 'refund'");
    dw_query_bind_integer(&query, invoice);
    if (dw_query_step(&query) && !dw_query_is_nothing(&query, 0))
        *day = dw_memory_text(dw_query_text(&query, 0));
    return dw_query_end(&query, message);
}

DwStatus dw_payment_settle(DwBook *book, int64_t id, DwMessage *message)
{
    DwInvoice invoice;
    DwBalance balance = {0};
    char *day = NULL;
    DwStatus status = load_invoice(book, id, &invoice, message);
    if (status == DW_OK)
        status = balance_of(book, &invoice, &balance, message);
    if (status == DW_OK)
        status = day_paid(book, id, &balance, &day, message);
    if (status == DW_OK) {
        free(invoice.paid_on);
        invoice.paid_on = day;
        status = dw_record_keep(book, &invoice.record, message);
    }
    dw_record_clear(&invoice.record);
    return status;
}

static DwStatus fail_amount(const DwBook *book, int64_t limit, const char *format, const char *about,
                            DwMessage *message)
{
    char *amount = dw_money_text(limit, book->amount_digits);
    DwStatus status = strcmp(format, "due") == 0
                          ? dw_fail(message, DW_BAD_INPUT, "No more than %s is left to pay of %s.", amount, about)
                          : dw_fail(message, DW_BAD_INPUT, "No more than %s was paid for %s.", amount, about);
    free(amount);
    return status;
}

// Against the invoice it is about.
static DwStatus check_of_invoice(DwBook *book, DwPayment *payment, DwMessage *message)
{
    DwInvoice invoice;
    DwBalance balance = {0};
    DwStatus status = load_invoice(book, payment->invoice_id, &invoice, message);
    char *number = dw_invoice_number(&invoice);
    if (status == DW_OK && invoice.state != DW_INVOICE_ISSUED)
        status = dw_fail(message, DW_BAD_INPUT,
                         "The invoice is still a draft. Issue it first; what is paid before is a deposit of the job.");
    else if (status == DW_OK && dw_invoice_is_credit(&invoice))
        status = dw_fail(message, DW_BAD_INPUT,
                         "%s is a credit note. Pay back, or take, on the invoice that it corrects.", number);
    else if (status == DW_OK && payment->job_id && payment->job_id != invoice.job_id)
        status = dw_fail(message, DW_BAD_INPUT, "Invoice %s belongs to another job.", number);
    if (status == DW_OK)
        status = balance_of(book, &invoice, &balance, message);
    bool refund = payment->kind == DW_PAYMENT_REFUND;
    if (status == DW_OK && refund && payment->amount > balance.paid)
        status = fail_amount(book, balance.paid, "paid", dw_said("the invoice"), message);
    if (status == DW_OK && !refund && payment->amount > balance.due)
        status = fail_amount(book, balance.due > 0 ? balance.due : 0, "due", dw_said("the invoice"), message);
    payment->job_id = invoice.job_id;
    if (!refund)
        payment->kind = DW_PAYMENT_PART;
    free(number);
    dw_record_clear(&invoice.record);
    return status;
}

static DwStatus check_of_job(DwBook *book, const DwPayment *payment, DwMessage *message)
{
    int64_t paid = 0;
    if (payment->kind == DW_PAYMENT_PART)
        return dw_fail(message, DW_BAD_INPUT,
                       "Say which invoice was paid. What is paid before there is one is a deposit.");
    if (payment->kind == DW_PAYMENT_DEPOSIT)
        return DW_OK;
    DwStatus status =
        dw_query_number(book, SUM_PAID "job_id = ? AND invoice_id IS NULL", payment->job_id, &paid, message);
    return status == DW_OK && payment->amount > paid
               ? fail_amount(book, paid, "paid", dw_said("the job as a deposit"), message)
               : status;
}

static DwStatus check_day(DwBook *book, DwPayment *payment, DwMessage *message)
{
    char today[DW_DATE_SIZE];
    dw_book_today(book, today);
    if (!payment->paid_on || !*payment->paid_on)
        dw_field_replace(&payment->paid_on, today);
    if (!dw_moment_is_date(payment->paid_on) || strcmp(payment->paid_on, "1870") < 0)
        return dw_fail(message, DW_BAD_INPUT, "Paid on is no day or moment of the calendar.");
    // A day in advance of the bench's clock may be the day already where the payment was made.
    return dw_moment_days_between(today, payment->paid_on) > 1
               ? dw_fail(message, DW_BAD_INPUT, "%s is still to come. Note a payment on the day that it is made.",
                         payment->paid_on)
               : DW_OK;
}

// What was paid by PAYMENT's day and by each later one, less what went back: the least of it.
static DwStatus least_in_hand(DwBook *book, const DwPayment *payment, int64_t *least, DwMessage *message)
{
    static const char sql[] =
        "WITH own AS (SELECT paid_on, CASE kind WHEN 'refund' THEN -amount ELSE amount END AS moved FROM payment WHERE "
        "job_id = ?1 AND coalesce(invoice_id, 0) = ?2 AND id <> ?4), days AS (SELECT paid_on FROM own WHERE paid_on > "
        "?3 "
        "UNION SELECT ?3) SELECT min((SELECT coalesce(sum(moved), 0) FROM own WHERE own.paid_on <= days.paid_on)) FROM "
        "days";
    DwQuery query = dw_query_begin(book, sql);
    dw_query_bind_integer(&query, payment->job_id);
    dw_query_bind_integer(&query, payment->invoice_id);
    dw_query_bind_text(&query, payment->paid_on);
    dw_query_bind_integer(&query, payment->record.id);
    if (dw_query_step(&query))
        *least = dw_query_integer(&query, 0);
    return dw_query_end(&query, message);
}

// Nothing goes back that was not in hand on that day and on each day since.
static DwStatus check_refund_day(DwBook *book, const DwPayment *payment, DwMessage *message)
{
    if (payment->kind != DW_PAYMENT_REFUND)
        return DW_OK;
    int64_t least = 0;
    DwStatus status = least_in_hand(book, payment, &least, message);
    if (status != DW_OK || payment->amount <= least)
        return status;
    char *amount = dw_money_text(least > 0 ? least : 0, book->amount_digits);
    status = dw_fail(message, DW_BAD_INPUT,
                     "On %s no more than %s was in hand to go back. Give the day on which it went back.",
                     payment->paid_on, amount);
    free(amount);
    return status;
}

// A year that was mistyped would land in the book-keeping of a month that is long closed. Jobs are typed in late, and
// deposits are paid early: a year before the job is still believed (common practice, no source).
static DwStatus check_long_before(DwBook *book, const DwPayment *payment, DwMessage *message)
{
    enum { DAYS = 366 };
    DwJob job;
    dw_record_init(&job.record, &dw_job_entity);
    DwStatus status = dw_record_load(book, &job.record, payment->job_id, message);
    char booked[DW_DATE_SIZE] = "";
    if (status == DW_OK)
        snprintf(booked, sizeof booked, "%.10s", job.opened_at);
    if (status == DW_OK && dw_moment_is_date(booked) && dw_moment_days_between(payment->paid_on, booked) > DAYS)
        status = dw_fail(message, DW_BAD_INPUT,
                         "%s is more than a year before job %04lld was booked, on %s. Give the day of the payment.",
                         payment->paid_on, (long long)job.number, booked);
    dw_record_clear(&job.record);
    return status;
}

DwStatus dw_payment_take(DwBook *book, DwPayment *payment, DwMessage *message)
{
    if (payment->amount == DW_AMOUNT_NONE || payment->amount <= 0)
        return dw_fail(message, DW_BAD_INPUT, "Give the amount that was paid, above 0. What goes back is a refund.");
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    status = check_day(book, payment, message);
    if (status == DW_OK)
        status = payment->invoice_id ? check_of_invoice(book, payment, message) : check_of_job(book, payment, message);
    if (status == DW_OK)
        status = check_long_before(book, payment, message);
    if (status == DW_OK)
        status = check_refund_day(book, payment, message);
    dw_field_stamp(book, &payment->at, &payment->who);
    if (status == DW_OK)
        status = dw_record_keep(book, &payment->record, message);
    if (status == DW_OK && payment->invoice_id)
        status = dw_payment_settle(book, payment->invoice_id, message);
    status = dw_book_end(book, status, message);
    if (status != DW_OK)
        payment->record.id = 0;
    return status;
}

DwStatus dw_payment_remove(DwBook *book, DwPayment *payment, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    status = dw_record_load(book, &payment->record, payment->record.id, message);
    int64_t invoice = payment->invoice_id, least = 0;
    if (status == DW_OK && payment->kind != DW_PAYMENT_REFUND)
        status = least_in_hand(book, payment, &least, message);
    if (status == DW_OK && least < 0)
        status = dw_fail(message, DW_BAD_INPUT, "Some of it went back already. Remove the refund first.");
    if (status == DW_OK)
        status = dw_record_remove(book, &payment->record, message);
    if (status == DW_OK && invoice)
        status = dw_payment_settle(book, invoice, message);
    return dw_book_end(book, status, message);
}

DwStatus dw_payment_bring(DwBook *book, const DwInvoice *invoice, DwMessage *message)
{
    DwRecords payments;
    DwStatus status = dw_record_select(book, &dw_payment_entity, "WHERE " OF_INVOICE " ORDER BY id", invoice->record.id,
                                       &payments, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; status == DW_OK && i < payments.count; i++) {
        DwPayment *payment = (DwPayment *)dw_records_at(&payments, i);
        if (payment->invoice_id && payment->invoice_id != invoice->corrects_id)
            continue;
        payment->invoice_id = invoice->record.id;
        status = dw_record_keep(book, &payment->record, message);
    }
    dw_records_clear(&payments);
    if (status == DW_OK && invoice->corrects_id)
        status = dw_payment_settle(book, invoice->corrects_id, message);
    return status == DW_OK ? dw_payment_settle(book, invoice->record.id, message) : status;
}

DwStatus dw_invoice_pay(DwBook *book, int64_t id, const char *paid_on, DwMessage *message)
{
    DwBalance balance = {0};
    DwPayment payment;
    dw_record_init(&payment.record, &dw_payment_entity);
    DwStatus status = dw_payment_balance(book, id, &balance, message);
    payment.invoice_id = id;
    payment.amount = balance.due;
    dw_field_replace(&payment.paid_on, paid_on);
    if (status == DW_OK && balance.due <= 0)
        status = dw_fail(message, DW_BAD_INPUT, "Nothing is left to pay of the invoice.");
    if (status == DW_OK)
        status = dw_payment_take(book, &payment, message);
    dw_record_clear(&payment.record);
    return status;
}
