// SPDX-License-Identifier: MIT
#include "book/money/estimate.h"

#include "base/memory.h"
#include "book/store/private.h"
#include "book/shop/settings.h"

#include <stdlib.h>

static const DwField estimate_fields[] = {
    {"job_id", "Job", DW_FIELD_REFERENCE, offsetof(DwEstimate, job_id), .refers = "job", .required = true},
    {"version", "Version", DW_FIELD_INTEGER, offsetof(DwEstimate, version), .kept = true},
    {"state", "State", DW_FIELD_CHOICE, offsetof(DwEstimate, state),
     .choices = "draft|issued|accepted|declined|replaced", .kept = true},
    {"issued_on", "Issued on", DW_FIELD_DATE, offsetof(DwEstimate, issued_on), .kept = true},
    {"valid_until", "Valid until", DW_FIELD_DATE, offsetof(DwEstimate, valid_until)},
    {"tax_rate", "Tax rate", DW_FIELD_RATE, offsetof(DwEstimate, tax_rate)},
    {"ceiling", "Ceiling", DW_FIELD_AMOUNT, offsetof(DwEstimate, ceiling), .not_negative = true},
    {"replacement_value", "Replacement value", DW_FIELD_AMOUNT, offsetof(DwEstimate, replacement_value),
     .not_negative = true, .help = "What an equivalent working deck costs."},
    {"words", "Words", DW_FIELD_TEXT, offsetof(DwEstimate, words), .lines = true},
};

const DwEntity dw_estimate_entity = {"estimate",
                                     "estimate",
                                     sizeof(DwEstimate),
                                     estimate_fields,
                                     sizeof estimate_fields / sizeof *estimate_fields,
                                     .of_customer = DW_JOBS_OF_CUSTOMER};

// The version before, into an initialised record; its id stays 0 when there is none.
static DwStatus load_last(DwBook *book, int64_t job, DwEstimate *last, DwMessage *message)
{
    int64_t id = 0;
    DwStatus status = dw_query_number(book, "SELECT id FROM estimate WHERE job_id = ? ORDER BY version DESC LIMIT 1",
                                      job, &id, message);
    return status == DW_OK && id ? dw_record_load(book, &last->record, id, message) : status;
}

DwStatus dw_estimate_draft(DwBook *book, int64_t job, DwEstimate *estimate, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    DwEstimate last;
    dw_record_init(&last.record, &dw_estimate_entity);
    status = load_last(book, job, &last, message);
    if (status == DW_OK) {
        estimate->job_id = job;
        estimate->version = last.version + 1;
        estimate->state = DW_ESTIMATE_DRAFT;
        estimate->ceiling = last.ceiling;
        estimate->replacement_value = last.replacement_value;
        estimate->tax_rate = dw_settings_rate(book, "money.tax_rate");
        status = dw_record_keep(book, &estimate->record, message);
    }
    if (status == DW_OK && last.record.id)
        status = dw_bill_take_over(book, last.record.id, DW_TIER_FULL, &dw_estimate_line_entity, estimate->record.id,
                                   message);
    dw_record_clear(&last.record);
    status = dw_book_end(book, status, message);
    if (status != DW_OK)
        estimate->record.id = 0;
    return status;
}

static DwStatus check_draft(DwBook *book, const DwEstimate *estimate, DwMessage *message)
{
    int64_t lines = 0;
    DwStatus status = dw_query_number(book, "SELECT count(*) FROM estimate_line WHERE estimate_id = ?",
                                      estimate->record.id, &lines, message);
    if (status != DW_OK)
        return status;
    if (estimate->state != DW_ESTIMATE_DRAFT)
        return dw_fail(message, DW_BAD_INPUT, "Version %lld was given out already. Start another version.",
                       (long long)estimate->version);
    if (lines == 0)
        return dw_fail(message, DW_BAD_INPUT, "The estimate has no lines yet; an estimate is an amount.");
    return DW_OK;
}

static DwStatus replace_earlier(DwBook *book, const DwEstimate *estimate, DwMessage *message)
{
    DwRecords records;
    DwStatus status = dw_record_list(book, &dw_estimate_entity, "job_id", estimate->job_id, &records, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; status == DW_OK && i < records.count; i++) {
        DwEstimate *earlier = (DwEstimate *)dw_records_at(&records, i);
        bool is_open = earlier->state == DW_ESTIMATE_ISSUED || earlier->state == DW_ESTIMATE_DRAFT;
        if (!is_open || earlier->version >= estimate->version)
            continue;
        earlier->state = DW_ESTIMATE_REPLACED;
        status = dw_record_keep(book, &earlier->record, message);
    }
    dw_records_clear(&records);
    return status;
}

DwStatus dw_estimate_issue(DwBook *book, int64_t id, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    DwEstimate estimate;
    dw_record_init(&estimate.record, &dw_estimate_entity);
    status = dw_record_load(book, &estimate.record, id, message);
    if (status == DW_OK)
        status = check_draft(book, &estimate, message);
    if (status == DW_OK)
        status = replace_earlier(book, &estimate, message);
    if (status == DW_OK) {
        char today[DW_DATE_SIZE], last[DW_DATE_SIZE];
        dw_book_today(book, today);
        dw_moment_add_days(today, (long)dw_settings_integer(book, "estimate.valid_days"), last);
        estimate.state = DW_ESTIMATE_ISSUED;
        dw_field_replace(&estimate.issued_on, today);
        if (!estimate.valid_until)
            dw_field_replace(&estimate.valid_until, last);
        status = dw_record_keep(book, &estimate.record, message);
    }
    dw_record_clear(&estimate.record);
    return dw_book_end(book, status, message);
}

DwStatus dw_estimate_shares(DwBook *book, int64_t id, DwTier tier, DwTaxShares *shares, DwMessage *message)
{
    DwRecords lines;
    int64_t rate = 0;
    DwStatus status = dw_query_number(book, "SELECT tax_rate FROM estimate WHERE id = ?", id, &rate, message);
    if (status == DW_OK)
        status = dw_record_list(book, &dw_estimate_line_entity, "estimate_id", id, &lines, message);
    if (status != DW_OK)
        return status;
    status = dw_bill_shares(&lines, tier, rate, shares, message);
    dw_records_clear(&lines);
    return status;
}

DwStatus dw_estimate_totals(DwBook *book, int64_t id, DwTier tier, DwTotals *totals, bool *uneconomic,
                            DwMessage *message)
{
    DwTaxShares shares = {0};
    DwEstimate estimate;
    dw_record_init(&estimate.record, &dw_estimate_entity);
    DwStatus status = dw_record_load(book, &estimate.record, id, message);
    if (status == DW_OK)
        status = dw_estimate_shares(book, id, tier, &shares, message);
    if (status == DW_OK) {
        *totals = dw_bill_totals(&shares);
        *uneconomic = estimate.replacement_value != DW_AMOUNT_NONE &&
                      totals->gross > dw_money_share(estimate.replacement_value,
                                                     dw_settings_rate(book, "estimate.uneconomic_rate"));
    }
    dw_tax_shares_clear(&shares);
    dw_record_clear(&estimate.record);
    return status;
}
