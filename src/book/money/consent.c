// SPDX-License-Identifier: MIT
#include "book/money/consent.h"

#include "book/job/job.h"
#include "book/store/private.h"

#include <string.h>

static const DwField fields[] = {
    {"job_id", "Job", DW_FIELD_REFERENCE, offsetof(DwConsent, job_id), .refers = "job", .required = true},
    {"estimate_id", "Estimate", DW_FIELD_REFERENCE, offsetof(DwConsent, estimate_id), .refers = "estimate"},
    {"tier", "Option", DW_FIELD_CHOICE, offsetof(DwConsent, tier), .choices = DW_TIER_WORDS},
    {"answer", "Answer", DW_FIELD_CHOICE, offsetof(DwConsent, answer),
     .choices = "agreed|agreed up to|refused|wants to wait"},
    {"amount", "Amount", DW_FIELD_AMOUNT, offsetof(DwConsent, amount), .not_negative = true, .help = "Tax included."},
    {"person", "Person", DW_FIELD_TEXT, offsetof(DwConsent, person), .required = true, .personal = true},
    {"how", "How", DW_FIELD_CHOICE, offsetof(DwConsent, how), .choices = DW_ROUTE_WORDS},
    {"contact", "Number or address", DW_FIELD_TEXT, offsetof(DwConsent, contact), .personal = true},
    {"words", "Words", DW_FIELD_TEXT, offsetof(DwConsent, words), .lines = true, .personal = true},
    {"at", "At", DW_FIELD_MOMENT, offsetof(DwConsent, at), .required = true, .kept = true},
    {"who", "Taken down by", DW_FIELD_TEXT, offsetof(DwConsent, who), .kept = true},
};

const DwEntity dw_consent_entity = {"consent",
                                    "consent",
                                    sizeof(DwConsent),
                                    fields,
                                    sizeof fields / sizeof *fields,
                                    .of_customer = DW_JOBS_OF_CUSTOMER,
                                    .quiet = true};

static bool agrees(const DwConsent *consent)
{
    return consent->answer == DW_CONSENT_AGREED || consent->answer == DW_CONSENT_UP_TO;
}

static DwStatus check_estimate(DwBook *book, const DwConsent *consent, const DwEstimate *estimate, DwMessage *message)
{
    char today[DW_DATE_SIZE];
    dw_book_today(book, today);
    if (estimate->job_id != consent->job_id)
        return dw_fail(message, DW_BAD_INPUT, "That estimate belongs to another job.");
    if (estimate->state != DW_ESTIMATE_ISSUED && estimate->state != DW_ESTIMATE_ACCEPTED)
        return dw_fail(message, DW_BAD_INPUT,
                       "Version %lld of the estimate is not open to an answer. Take the version "
                       "that was given out last.",
                       (long long)estimate->version);
    if (agrees(consent) && estimate->valid_until && strcmp(estimate->valid_until, today) < 0)
        return dw_fail(message, DW_BAD_INPUT, "Version %lld of the estimate ran out on %s. Issue another version.",
                       (long long)estimate->version, estimate->valid_until);
    return DW_OK;
}

// Marks the estimate as the answer says and fills the amount.
static DwStatus answer_estimate(DwBook *book, DwConsent *consent, DwMessage *message)
{
    DwEstimate estimate;
    dw_record_init(&estimate.record, &dw_estimate_entity);
    DwStatus status = dw_record_load(book, &estimate.record, consent->estimate_id, message);
    if (status == DW_OK)
        status = check_estimate(book, consent, &estimate, message);
    if (status == DW_OK && consent->answer == DW_CONSENT_AGREED && consent->amount == DW_AMOUNT_NONE) {
        DwTotals totals = {0};
        bool uneconomic;
        status = dw_estimate_totals(book, estimate.record.id, (DwTier)consent->tier, &totals, &uneconomic, message);
        consent->amount = totals.gross;
    }
    if (status == DW_OK && consent->answer != DW_CONSENT_WAIT) {
        estimate.state = agrees(consent) ? DW_ESTIMATE_ACCEPTED : DW_ESTIMATE_DECLINED;
        status = dw_record_keep(book, &estimate.record, message);
    }
    dw_record_clear(&estimate.record);
    return status;
}

DwStatus dw_consent_log(DwBook *book, DwConsent *consent, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    dw_field_stamp(book, &consent->at, &consent->who);
    if (consent->estimate_id)
        status = answer_estimate(book, consent, message);
    if (status == DW_OK && agrees(consent) && consent->amount == DW_AMOUNT_NONE)
        status = dw_fail(message, DW_BAD_INPUT, "Write down the amount that was agreed to.");
    if (status == DW_OK)
        status = dw_record_keep(book, &consent->record, message);
    status = dw_book_end(book, status, message);
    if (status != DW_OK)
        consent->record.id = 0;
    return status;
}

DwStatus dw_consent_agreed(DwBook *book, int64_t job, int64_t *amount, DwMessage *message)
{
    DwQuery query = dw_query_begin(
        book, "SELECT coalesce((SELECT amount FROM consent WHERE job_id = ?1 AND answer IN ('agreed', 'agreed up to') "
              "ORDER BY id DESC LIMIT 1), (SELECT ceiling FROM intake WHERE job_id = ?1))");
    dw_query_bind_integer(&query, job);
    int64_t found = DW_AMOUNT_NONE;
    if (dw_query_step(&query) && !dw_query_is_nothing(&query, 0))
        found = dw_query_integer(&query, 0);
    DwStatus status = dw_query_end(&query, message);
    if (status == DW_OK)
        *amount = found;
    return status;
}
