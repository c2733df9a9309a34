// SPDX-License-Identifier: MIT
// What the job's page does beyond its records' own forms: taking in, moving on,
// acknowledging, readings by hand, estimates and invoices given out.
#include "base/memory.h"
#include "base/quantity.h"
#include "base/text.h"
#include "book/entry/entry.h"
#include "book/job/measurement.h"
#include "book/job/verdict.h"
#include "book/money/estimate.h"
#include "book/money/credit.h"
#include "book/money/payment.h"
#include "procedure/job/job_sheet.h"
#include "web/job/job_head.h"
#include "web/job/job_page.h"
#include "web/job/pages.h"
#include "web/page/kept.h"
#include "web/server/words.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

// Finds the job in the path, does ACT with it and answers: what it did not keep it says.
// PART is where it stands on the page, ANCHOR the place in it.
static DwAnswer with_job(const DwWebRequest *request, DwStatus (*act)(const DwWebRequest *, const DwJob *, DwMessage *),
                         const char *part, const char *anchor)
{
    DwAnswer answer;
    DwJob job;
    if (dw_job_head_find(request, &job, &answer)) {
        DwMessage message;
        char path[64];
        snprintf(path, sizeof path, "/job/%04lld?at=%s", (long long)job.number, part);
        DwStatus status = act(request, &job, &message);
        if (status == DW_OK)
            answer = dw_kept_answer(request, &(DwKept){.path = path, .anchor = anchor});
        else
            answer = dw_answer_trouble(status, &message);
    }
    dw_record_clear(&job.record);
    return answer;
}

// A field that numbers a record of the job, which it must be of: pages of another job do not reach it.
static DwStatus record_of_job(const DwWebRequest *request, const DwJob *job, const char *name, DwRecord *record,
                              DwMessage *message)
{
    int64_t of = 0;
    DwStatus status =
        dw_record_load(request->book, record, strtoll(dw_request_field(request, name), NULL, 10), message);
    if (status == DW_OK)
        status = dw_entry_job(request->book, record, &of, message);
    if (status == DW_OK && of != job->record.id)
        return dw_fail(message, DW_BAD_INPUT, "That %s belongs to another job.", dw_words(record->entity->label));
    return status;
}

static DwStatus take_in(const DwWebRequest *request, const DwJob *job, DwMessage *message)
{
    DwStatus status = dw_book_begin(request->book, message);
    if (status != DW_OK)
        return status;
    DwIntake intake;
    dw_record_init(&intake.record, &dw_intake_entity);
    intake.job_id = job->record.id;
    status = dw_entry_add(request->book, &intake.record, message);
    if (status == DW_OK && job->state == DW_JOB_BOOKED)
        status = dw_job_move(request->book, job->record.id, DW_JOB_RECEIVED, "", "", message);
    dw_record_clear(&intake.record);
    return dw_book_end(request->book, status, message);
}

// Notes NAME as received or not; what was never listed and is not there stays unlisted.
static DwStatus note_accessory(const DwWebRequest *request, const DwRecords *list, int64_t intake, const char *name,
                               bool received, DwMessage *message)
{
    DwAccessory *known = NULL;
    for (size_t i = 0; i < list->count; i++)
        if (strcmp(((DwAccessory *)dw_records_at(list, i))->name, name) == 0)
            known = (DwAccessory *)dw_records_at(list, i);
    if (known) {
        known->received = received;
        return dw_record_save(request->book, &known->record, message);
    }
    if (!received)
        return DW_OK;
    DwAccessory accessory;
    dw_record_init(&accessory.record, &dw_accessory_entity);
    accessory.intake_id = intake;
    accessory.name = dw_memory_text(name);
    accessory.received = true;
    DwStatus status = dw_entry_add(request->book, &accessory.record, message);
    dw_record_clear(&accessory.record);
    return status;
}

static DwStatus keep_accessories(const DwWebRequest *request, const DwJob *job, DwMessage *message)
{
    DwIntake intake;
    DwRecords list = {0};
    dw_record_init(&intake.record, &dw_intake_entity);
    DwStatus status = dw_intake_of_job(request->book, job->record.id, &intake, message);
    if (status == DW_OK)
        status = dw_record_list(request->book, &dw_accessory_entity, "intake_id", intake.record.id, &list, message);
    if (status == DW_OK)
        status = dw_book_begin(request->book, message);
    if (status == DW_OK) {
        const char *name;
        for (size_t i = 0; status == DW_OK && (name = dw_job_accessory_at(i)); i++) {
            char field[16];
            snprintf(field, sizeof field, "usual%zu", i);
            if (dw_request_sent(request, field))
                status = note_accessory(request, &list, intake.record.id, name,
                                        strcmp(dw_request_field(request, field), "yes") == 0, message);
        }
        status = dw_book_end(request->book, status, message);
    }
    dw_records_clear(&list);
    dw_record_clear(&intake.record);
    return status;
}

static DwStatus acknowledge(const DwWebRequest *request, const DwJob *job, DwMessage *message)
{
    const char *person = dw_request_field(request, "person"), *words = dw_request_field(request, "words");
    if (!*person || !*words)
        return dw_fail(message, DW_BAD_INPUT, "Write down both who was told and what was said.");
    return dw_verdict_acknowledge(request->book, job->record.id, person, words, message);
}

// A key of the shop's own from the words: "Platter run-out" becomes "shop.platter_run_out".
static char *key_of(const char *label)
{
    DwText key = {0};
    dw_text_add(&key, "shop.");
    for (const char *at = label; *at && key.length < 60; at++)
        dw_text_add(&key, "%c",
                    isalnum((unsigned char)*at) && (unsigned char)*at < 128 ? tolower((unsigned char)*at) : '_');
    return dw_text_take(&key);
}

// The quantity of the catalogue that LABEL names, whatever its case; NULL for none.
static const DwQuantity *quantity_called(const char *label)
{
    const DwQuantity *row;
    for (size_t i = 0; (row = dw_quantity_at(i)); i++)
        if (strcasecmp(row->label, label) == 0)
            return row;
    return NULL;
}

static DwStatus read_by_hand(const DwWebRequest *request, DwSheet **sheet, DwMessage *message)
{
    const char *label = dw_request_field(request, "label"), *value = dw_request_field(request, "value");
    const char *key = dw_request_field(request, "key"), *doubt = dw_request_field(request, "uncertainty");
    double uncertainty = NAN;
    if (dw_text_number_clear(NULL, doubt, message) != DW_OK)
        return DW_BAD_INPUT;
    const char *end = *doubt ? dw_text_number(doubt, &uncertainty) : doubt;
    if (!end || *end || uncertainty < 0)
        return dw_fail(message, DW_BAD_INPUT, "\"%.*s\" is no uncertainty.", dw_text_whole(doubt, 100), doubt);
    if (!*value || (!*label && !*key))
        return dw_fail(message, DW_BAD_INPUT, "Say what was read, and the reading.");
    const DwQuantity *known = *key ? NULL : quantity_called(label);
    char *own = *key ? NULL : known ? dw_memory_text(known->key) : key_of(label);
    DwStatus status =
        dw_measurement_by_hand(own ? own : key, *label ? label : NULL, value, uncertainty, sheet, message);
    free(own);
    return status;
}

static DwStatus keep_reading(const DwWebRequest *request, const DwJob *job, DwMessage *message)
{
    DwMeasurement measurement;
    DwSheet *sheet = NULL;
    dw_record_init(&measurement.record, &dw_measurement_entity);
    DwPhase phase = DW_PHASE_NONE;
    DwStatus status = dw_job_sheet_phase(dw_request_field(request, "as"), &phase, message);
    measurement.job_id = job->record.id;
    measurement.phase = (int)phase;
    measurement.instrument = dw_memory_text(dw_request_field(request, "instrument"));
    if (status == DW_OK)
        status = read_by_hand(request, &sheet, message);
    if (status == DW_OK)
        status = dw_job_sheet_bound(request->book, job, sheet, message);
    if (status == DW_OK)
        status = dw_measurement_save(request->book, sheet, &measurement, message);
    dw_sheet_free(sheet);
    dw_record_clear(&measurement.record);
    return status;
}

static DwStatus draft_estimate(const DwWebRequest *request, const DwJob *job, DwMessage *message)
{
    DwEstimate estimate;
    dw_record_init(&estimate.record, &dw_estimate_entity);
    DwStatus status = dw_estimate_draft(request->book, job->record.id, &estimate, message);
    dw_record_clear(&estimate.record);
    return status;
}

static DwStatus issue_estimate(const DwWebRequest *request, const DwJob *job, DwMessage *message)
{
    DwEstimate estimate;
    dw_record_init(&estimate.record, &dw_estimate_entity);
    DwStatus status = record_of_job(request, job, "estimate", &estimate.record, message);
    if (status == DW_OK)
        status = dw_estimate_issue(request->book, estimate.record.id, message);
    dw_record_clear(&estimate.record);
    return status;
}

// The newest estimate of the job that was given out and not replaced; 0 without one.
static DwStatus standing_estimate(const DwWebRequest *request, const DwJob *job, int64_t *id, DwMessage *message)
{
    DwRecords records = {0};
    *id = 0;
    DwStatus status = dw_record_list(request->book, &dw_estimate_entity, "job_id", job->record.id, &records, message);
    for (size_t i = 0; status == DW_OK && i < records.count; i++) {
        const DwEstimate *estimate = (const DwEstimate *)dw_records_at(&records, i);
        if (estimate->state == DW_ESTIMATE_ISSUED || estimate->state == DW_ESTIMATE_ACCEPTED)
            *id = estimate->record.id;
    }
    dw_records_clear(&records);
    return status;
}

static DwStatus draft_invoice(const DwWebRequest *request, const DwJob *job, DwMessage *message)
{
    const char *word = dw_request_field(request, "tier");
    int tier = *word ? dw_field_choice(dw_field_find(&dw_estimate_line_entity, "tier"), word) : 0;
    if (tier < 0)
        return dw_fail(message, DW_BAD_INPUT, "That is no option of an estimate.");
    DwInvoice invoice;
    int64_t estimate = 0;
    dw_record_init(&invoice.record, &dw_invoice_entity);
    DwStatus status = *word ? standing_estimate(request, job, &estimate, message) : DW_OK;
    if (status == DW_OK)
        status = dw_invoice_draft(request->book, job->record.id, estimate, (DwTier)tier, &invoice, message);
    dw_record_clear(&invoice.record);
    return status;
}

// Does ACT to the invoice of the job that the form names.
static DwStatus with_invoice(const DwWebRequest *request, const DwJob *job,
                             DwStatus (*act)(DwBook *book, int64_t invoice, DwMessage *message), DwMessage *message)
{
    DwInvoice invoice;
    dw_record_init(&invoice.record, &dw_invoice_entity);
    DwStatus status = record_of_job(request, job, "invoice", &invoice.record, message);
    if (status == DW_OK)
        status = act(request->book, invoice.record.id, message);
    dw_record_clear(&invoice.record);
    return status;
}

static DwStatus issue_invoice(const DwWebRequest *request, const DwJob *job, DwMessage *message)
{
    return with_invoice(request, job, dw_invoice_issue, message);
}

static DwStatus bill_visit(const DwWebRequest *request, const DwJob *job, DwMessage *message)
{
    return with_invoice(request, job, dw_invoice_add_visit, message);
}

static DwStatus pay(const DwWebRequest *request, const DwJob *job, DwMessage *message)
{
    DwInvoice invoice;
    char today[DW_DATE_SIZE];
    dw_book_today(request->book, today);
    dw_record_init(&invoice.record, &dw_invoice_entity);
    DwStatus status = record_of_job(request, job, "invoice", &invoice.record, message);
    if (status == DW_OK)
        status = dw_invoice_pay(request->book, invoice.record.id, today, message);
    dw_record_clear(&invoice.record);
    return status;
}

static DwStatus credit_invoice(const DwWebRequest *request, const DwJob *job, DwMessage *message)
{
    DwInvoice invoice, credit;
    dw_record_init(&invoice.record, &dw_invoice_entity);
    dw_record_init(&credit.record, &dw_invoice_entity);
    DwStatus status = record_of_job(request, job, "invoice", &invoice.record, message);
    if (status == DW_OK)
        status = dw_credit_draft(request->book, invoice.record.id, NULL, DW_AMOUNT_NONE, &credit, message);
    dw_record_clear(&invoice.record);
    dw_record_clear(&credit.record);
    return status;
}

static DwStatus cancel_invoice(const DwWebRequest *request, const DwJob *job, DwMessage *message)
{
    DwInvoice invoice, credit;
    dw_record_init(&invoice.record, &dw_invoice_entity);
    dw_record_init(&credit.record, &dw_invoice_entity);
    DwStatus status = record_of_job(request, job, "invoice", &invoice.record, message);
    if (status == DW_OK)
        status = dw_credit_cancel(request->book, invoice.record.id, dw_request_field(request, "why"), &credit, message);
    dw_record_clear(&invoice.record);
    dw_record_clear(&credit.record);
    return status;
}

static DwAnswer answer_take_in(const DwWebRequest *request)
{
    return with_job(request, take_in, "intake", "intake");
}

// The same, and what the journal wrote of it.
static DwStatus keep_accessories_told(const DwWebRequest *request, const DwJob *job, DwJournalSpan *span,
                                      DwMessage *message)
{
    int64_t before = 0, after = 0;
    DwStatus status = dw_book_begin(request->book, message); // nobody else writes between
    if (status != DW_OK)
        return status;
    status = dw_journal_newest(request->book, &before, message);
    if (status == DW_OK)
        status = keep_accessories(request, job, message);
    if (status == DW_OK)
        status = dw_journal_newest(request->book, &after, message);
    *span = after > before ? (DwJournalSpan){before + 1, after} : (DwJournalSpan){0};
    return dw_book_end(request->book, status, message);
}

// A tick is one change of the list, with its way back.
static DwAnswer answer_accessories(const DwWebRequest *request)
{
    DwAnswer answer;
    DwJob job;
    DwMessage message;
    DwJournalSpan span = {0};
    if (dw_job_head_find(request, &job, &answer)) {
        char path[64];
        snprintf(path, sizeof path, "/job/%04lld?at=intake", (long long)job.number);
        DwKeptWhat what = DW_KEPT_CHANGED;
        DwStatus status = keep_accessories_told(request, &job, &span, &message);
        if (!span.first)
            what = DW_KEPT_SAME;
        answer =
            status == DW_OK
                ? dw_kept_answer(request, &(DwKept){.path = path, .anchor = "accessories", .span = span, .what = what})
                : dw_answer_trouble(status, &message);
    }
    dw_record_clear(&job.record);
    return answer;
}

static DwAnswer answer_acknowledge(const DwWebRequest *request)
{
    return with_job(request, acknowledge, "safety", "safety");
}

static DwAnswer answer_reading(const DwWebRequest *request)
{
    bool left = strcmp(dw_request_field(request, "as"), "left") == 0;
    return with_job(request, keep_reading, left ? "as-left" : "as-received", left ? "as-left" : "as-received");
}

static DwAnswer answer_estimate(const DwWebRequest *request)
{
    return with_job(request, draft_estimate, "estimate", "estimate");
}

static DwAnswer answer_issue_estimate(const DwWebRequest *request)
{
    return with_job(request, issue_estimate, "estimate", "estimate");
}

static DwAnswer answer_invoice(const DwWebRequest *request)
{
    return with_job(request, draft_invoice, "papers", "invoice");
}

static DwAnswer answer_credit(const DwWebRequest *request)
{
    return with_job(request, credit_invoice, "papers", "invoice");
}

static DwAnswer answer_cancel(const DwWebRequest *request)
{
    return with_job(request, cancel_invoice, "papers", "invoice");
}

static DwAnswer answer_issue_invoice(const DwWebRequest *request)
{
    return with_job(request, issue_invoice, "papers", "invoice");
}

static DwAnswer answer_bill_visit(const DwWebRequest *request)
{
    return with_job(request, bill_visit, "papers", "invoice");
}

static DwAnswer answer_pay(const DwWebRequest *request)
{
    return with_job(request, pay, "papers", "invoice");
}

const DwWebRoute dw_routes_job_act[] = {
    {"POST", "/job/:number/take-in", answer_take_in, false},
    {"POST", "/job/:number/accessories", answer_accessories, false},
    {"POST", "/job/:number/acknowledge", answer_acknowledge, false},
    {"POST", "/job/:number/reading", answer_reading, false},
    {"POST", "/job/:number/estimate", answer_estimate, false},
    {"POST", "/job/:number/issue-estimate", answer_issue_estimate, false},
    {"POST", "/job/:number/invoice", answer_invoice, false},
    {"POST", "/job/:number/issue-invoice", answer_issue_invoice, false},
    {"POST", "/job/:number/invoice-visit", answer_bill_visit, false},
    {"POST", "/job/:number/pay", answer_pay, false},
    {"POST", "/job/:number/credit", answer_credit, false},
    {"POST", "/job/:number/cancel", answer_cancel, false},
    {0},
};
