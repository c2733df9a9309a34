// SPDX-License-Identifier: MIT
#include "book/entry/entry.h"

#include "base/memory.h"
#include "base/tongue.h"
#include "book/job/intake.h"
#include "book/job/job.h"
#include "book/job/visit.h"
#include "book/job/work.h"
#include "book/money/estimate.h"
#include "book/money/invoice.h"
#include "book/money/payment.h"
#include "book/shop/cartridge.h"
#include "book/shop/customer.h"
#include "book/shop/country.h"
#include "book/shop/deck.h"
#include "book/shop/register.h"
#include "book/store/private.h"

#include <stdlib.h>
#include <string.h>

// What lies behind us, and what lies before us.
static const struct {
    const DwEntity *entity;
    const char *key;
    bool to_come;
} days[] = {
    {&dw_ownership_entity, "since", false},
    {&dw_stylus_entity, "bought_on", false},
    {&dw_stylus_entity, "fitted_on", false},
    {&dw_stylus_entity, "removed_on", false},
    {&dw_stylus_entity, "inspected_on", false},
    {&dw_test_record_entity, "bought_on", false},
    {&dw_test_record_entity, "retired_on", false},
    {&dw_instrument_entity, "retired_on", false},
    {&dw_instrument_check_entity, "checked_on", false},
    {&dw_chain_entity, "checked_on", false},
    {&dw_intake_entity, "at", false},
    {&dw_operation_entity, "done_at", false},
    {&dw_notice_entity, "sent_on", false},
    {&dw_job_entity, "promised_on", true},
    {&dw_job_entity, "next_due_on", true},
    {&dw_stylus_entity, "next_due_on", true},
    {&dw_estimate_entity, "valid_until", true},
    {&dw_invoice_entity, "due_on", true},
};

// One before the other.
static const struct {
    const DwEntity *entity;
    const char *earlier, *later;
} orders[] = {
    {&dw_ownership_entity, "since", "until"},
    {&dw_stylus_entity, "bought_on", "fitted_on"},
    {&dw_stylus_entity, "fitted_on", "removed_on"},
    {&dw_test_record_entity, "bought_on", "retired_on"},
    {&dw_invoice_entity, "warranty_from", "warranty_until"},
};

// The day that the date or moment KEY of RECORD says; "" for none.
static void day_of(const DwBook *book, const DwRecord *record, const char *key, char day[DW_DATE_SIZE])
{
    const DwField *field = dw_field_find(record->entity, key);
    char *text = dw_record_text(book, record, field);
    if (field->kind == DW_FIELD_MOMENT)
        dw_moment_day(text, day);
    else
        memcpy(day, strlen(text) == DW_DATE_SIZE - 1 ? text : "", strlen(text) == DW_DATE_SIZE - 1 ? DW_DATE_SIZE : 1);
    free(text);
}

static bool differs(const DwBook *book, const DwRecord *record, const DwRecord *before, const char *key)
{
    const DwField *field = dw_field_find(record->entity, key);
    char *now = dw_record_text(book, record, field), *then = dw_record_text(book, before, field);
    bool different = strcmp(now, then) != 0;
    free(now);
    free(then);
    return different;
}

static DwStatus check_days(DwBook *book, const DwRecord *record, const DwRecord *before, DwMessage *message)
{
    char today[DW_DATE_SIZE], day[DW_DATE_SIZE];
    dw_book_today(book, today);
    for (size_t i = 0; i < sizeof days / sizeof *days; i++) {
        if (days[i].entity != record->entity || !differs(book, record, before, days[i].key))
            continue;
        const char *label = dw_field_find(record->entity, days[i].key)->label;
        day_of(book, record, days[i].key, day);
        // A day in advance of the bench's clock may be the day already where it happened.
        long ahead = *day ? dw_moment_days_between(today, day) : 0;
        if (days[i].to_come && ahead < 0)
            return dw_fail(message, DW_BAD_INPUT, "%s: %s is over already. Give a day to come.", dw_said(label), day);
        if (!days[i].to_come && ahead > 1)
            return dw_fail(message, DW_BAD_INPUT, "%s: %s is still to come. Write it down when it has happened.",
                           dw_said(label), day);
    }
    return DW_OK;
}

static DwStatus check_orders(DwBook *book, const DwRecord *record, const DwRecord *before, DwMessage *message)
{
    char first[DW_DATE_SIZE], second[DW_DATE_SIZE];
    for (size_t i = 0; i < sizeof orders / sizeof *orders; i++) {
        if (orders[i].entity != record->entity ||
            (!differs(book, record, before, orders[i].earlier) && !differs(book, record, before, orders[i].later)))
            continue;
        day_of(book, record, orders[i].earlier, first);
        day_of(book, record, orders[i].later, second);
        if (*first && *second && strcmp(second, first) < 0)
            return dw_fail(message, DW_BAD_INPUT, "%s: %s is before %s (%s).",
                           dw_said(dw_field_find(record->entity, orders[i].later)->label), second, first,
                           dw_said(dw_field_find(record->entity, orders[i].earlier)->label));
    }
    return DW_OK;
}

// The day until which the issued invoices of JOB that stand give a warranty; "" for none.
static DwStatus warranty_end(DwBook *book, int64_t job, char day[DW_DATE_SIZE], DwMessage *message)
{
    DwQuery query = dw_query_begin(
        book,
        "SELECT max(warranty_until) FROM invoice WHERE (job_id = ?1 OR id IN (SELECT invoice_id FROM invoice_line "
        "WHERE "
        "job_id = ?1)) AND state = 'issued' AND kind = 'invoice' AND id NOT "
        "IN (SELECT corrects_id FROM invoice WHERE corrects_id IS NOT NULL AND state = 'issued' AND kind <> 'credit "
        "note')");
    dw_query_bind_integer(&query, job);
    *day = '\0';
    if (dw_query_step(&query) && strlen(dw_query_text(&query, 0)) == DW_DATE_SIZE - 1)
        memcpy(day, dw_query_text(&query, 0), DW_DATE_SIZE);
    return dw_query_end(&query, message);
}

// A warranty return is of the same deck and owner, and comes while the warranty runs.
static DwStatus check_warranty(DwBook *book, const DwJob *job, DwMessage *message)
{
    DwJob first;
    char day[DW_DATE_SIZE] = "", opened[DW_DATE_SIZE];
    dw_record_init(&first.record, &dw_job_entity);
    DwStatus status = dw_record_load(book, &first.record, job->warranty_of_id, message);
    if (status == DW_OK)
        status = warranty_end(book, first.record.id, day, message);
    long long number = first.number;
    if (job->opened_at)
        dw_moment_day(job->opened_at, opened);
    else
        dw_book_today(book, opened);
    if (status == DW_OK && first.record.id == job->record.id)
        status = dw_fail(message, DW_BAD_INPUT, "A job is no warranty return of itself.");
    else if (status == DW_OK && first.deck_id != job->deck_id)
        status = dw_fail(message, DW_BAD_INPUT, "Job %04lld was on another deck: its warranty does not cover this one.",
                         number);
    else if (status == DW_OK && first.customer_id != job->customer_id)
        status = dw_fail(
            message, DW_BAD_INPUT,
            "Job %04lld was for another customer: its warranty is theirs. Look whether the deck was sold on.", number);
    else if (status == DW_OK && !*day)
        status = dw_fail(message, DW_BAD_INPUT, "Job %04lld has no invoice that gives a warranty.", number);
    else if (status == DW_OK && strcmp(day, opened) < 0)
        status =
            dw_fail(message, DW_BAD_INPUT,
                    "The warranty of job %04lld ended on %s. Book this as a job of its own, whatever you ask for it.",
                    number, day);
    dw_record_clear(&first.record);
    return status;
}

static DwStatus check_of_kind(DwBook *book, const DwRecord *record, const DwRecord *before, DwMessage *message)
{
    if (record->entity == &dw_job_entity && ((const DwJob *)record)->warranty_of_id &&
        differs(book, record, before, "warranty_of_id"))
        return check_warranty(book, (const DwJob *)record, message);
    if (record->entity == &dw_job_entity && ((const DwJob *)record)->came_with_id &&
        (differs(book, record, before, "came_with_id") || differs(book, record, before, "customer_id")))
        return dw_visit_check(book, (const DwJob *)record, message);
    const char *country = record->entity == &dw_customer_entity  ? ((const DwCustomer *)record)->country
                          : record->entity == &dw_invoice_entity ? ((const DwInvoice *)record)->customer_country
                                                                 : NULL;
    if (country && *country && !dw_country_is_known(country))
        return dw_fail(message, DW_BAD_INPUT, "Country: \"%s\" is no country's code of ISO 3166-1, such as DE.",
                       country);
    return DW_OK;
}

DwStatus dw_entry_check(DwBook *book, const DwRecord *record, DwMessage *message)
{
    DwRecord *before = dw_record_new(record->entity);
    DwStatus status = record->id ? dw_record_load(book, before, record->id, message) : DW_OK;
    if (status == DW_OK)
        status = check_days(book, record, before, message);
    if (status == DW_OK)
        status = check_orders(book, record, before, message);
    if (status == DW_OK)
        status = check_of_kind(book, record, before, message);
    dw_record_free(before);
    return status;
}

// How many rows SQL counts, which has RECORD's job or invoice as ?1, its kind as ?2, its day as ?3 and AMOUNT as ?4.
static DwStatus count_like(DwBook *book, const DwRecord *record, const char *sql, int64_t of, const char *on,
                           int64_t amount, int64_t *count, DwMessage *message)
{
    char today[DW_DATE_SIZE];
    dw_book_today(book, today);
    char *kind = dw_record_text(book, record, dw_field_find(record->entity, "kind"));
    DwQuery query = dw_query_begin(book, sql);
    dw_query_bind_integer(&query, of);
    dw_query_bind_text(&query, kind);
    dw_query_bind_text(&query, on && *on ? on : today);
    dw_query_bind_integer(&query, amount);
    *count = dw_query_step(&query) ? dw_query_integer(&query, 0) : 0;
    free(kind);
    return dw_query_end(&query, message);
}

// A letter tells an owner that a deck can be fetched.
static DwStatus doubt_notice(DwBook *book, const DwNotice *notice, const char **doubt, DwMessage *message)
{
    int64_t count = 0;
    DwJob job;
    dw_record_init(&job.record, &dw_job_entity);
    DwStatus status = dw_record_load(book, &job.record, notice->job_id, message);
    if (status == DW_OK)
        status = count_like(book, &notice->record,
                            "SELECT count(*) FROM notice WHERE job_id = ?1 AND kind = ?2 AND sent_on = ?3 AND ?4 = 0",
                            notice->job_id, notice->sent_on, 0, &count, message);
    if (status == DW_OK && count)
        *doubt = "Such a notice is noted for that day already.";
    else if (status == DW_OK && !dw_job_waits_for_owner((DwJobState)job.state))
        *doubt = "The job is neither ready nor declined: there is no deck to be fetched.";
    dw_record_clear(&job.record);
    return status;
}

DwStatus dw_entry_doubt(DwBook *book, const DwRecord *record, const char **doubt, DwMessage *message)
{
    int64_t count = 0;
    DwStatus status = dw_entry_check(book, record, message);
    *doubt = NULL;
    if (status != DW_OK)
        return status;
    if (record->entity == &dw_notice_entity)
        return doubt_notice(book, (const DwNotice *)record, doubt, message);
    if (record->entity == &dw_payment_entity) {
        const DwPayment *payment = (const DwPayment *)record;
        bool invoice = payment->invoice_id != 0;
        status = count_like(book, record,
                            invoice ? "SELECT count(*) FROM payment WHERE invoice_id = ?1 AND kind = ?2 AND paid_on = "
                                      "?3 AND amount = ?4"
                                    : "SELECT count(*) FROM payment WHERE job_id = ?1 AND kind = ?2 AND paid_on = ?3 "
                                      "AND amount = ?4",
                            invoice ? payment->invoice_id : payment->job_id, payment->paid_on, payment->amount, &count,
                            message);
        if (count)
            *doubt = "The same amount is noted for that day already.";
    }
    return status;
}
