// SPDX-License-Identifier: MIT
// The guide's work plan as lines of the job's estimate.
#include "base/memory.h"
#include "base/text.h"
#include "book/job/minutes.h"
#include "book/money/estimate.h"
#include "book/shop/settings.h"
#include "procedure/job/job_guide.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { SAFETY_ORDER = 1, MINUTES_STEP = 5 };

// The job's draft, or the next version begun.
static DwStatus open_draft(DwBook *book, int64_t job, DwEstimate *estimate, DwMessage *message)
{
    DwRecords records;
    int64_t draft = 0;
    DwStatus status = dw_record_list(book, &dw_estimate_entity, "job_id", job, &records, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < records.count; i++)
        if (((const DwEstimate *)dw_records_at(&records, i))->state == DW_ESTIMATE_DRAFT)
            draft = dw_records_at(&records, i)->id;
    dw_records_clear(&records);
    return draft ? dw_record_load(book, &estimate->record, draft, message)
                 : dw_estimate_draft(book, job, estimate, message);
}

static bool stands(const DwRecords *lines, const char *name)
{
    for (size_t i = 0; i < lines->count; i++)
        if (strcmp(((const DwBillLine *)dw_records_at(lines, i))->name, name) == 0)
            return true;
    return false;
}

// Adds a line called NAME unless one of that name stands.
static DwStatus add_line(DwBook *book, const DwRecords *lines, DwBillLine *line, const char *name, size_t *added,
                         DwMessage *message)
{
    if (stands(lines, name))
        return DW_OK;
    line->name = dw_memory_text(name);
    DwStatus status = dw_bill_add(book, line, message);
    *added += status == DW_OK;
    return status;
}

// What this shop took for the operation where it counted often enough, else the middle of the usual range.
static DwStatus minutes_of(DwBook *book, int64_t deck, const DwGuideRemedy *remedy, const DwGuideWork *work,
                           int64_t *minutes, DwMessage *message)
{
    static const DwMinutesList none = {0};
    DwMinutesOffer own;
    DwStatus status =
        dw_minutes_offer(book, &none, remedy->operation ? remedy->operation : remedy->name, deck, &own, message);
    if (status != DW_OK)
        return status;
    bool listed = !isnan(work->least);
    *minutes = work->counted   ? 0
               : own.times > 0 ? own.minutes
               : listed        ? (int64_t)ceil((work->least + work->most) / 2 / MINUTES_STEP) * MINUTES_STEP
                               : 0;
    free(own.source);
    return DW_OK;
}

static DwStatus add_labour(DwBook *book, int64_t deck, int64_t estimate, const DwRecords *lines,
                           const DwGuideRemedy *remedy, const DwGuideWork *work, size_t *added, DwMessage *message)
{
    DwBillLine line;
    dw_record_init(&line.record, &dw_estimate_line_entity);
    line.bill_id = estimate;
    line.tier = remedy->order <= SAFETY_ORDER ? DW_TIER_MINIMUM : DW_TIER_RECOMMENDED;
    line.kind = DW_LINE_LABOUR;
    DwStatus status = minutes_of(book, deck, remedy, work, &line.minutes, message);
    if (!line.minutes || dw_settings_amount(book, "money.labour_rate") <= 0)
        line.price = line.amount = 0;
    if (status == DW_OK)
        status = add_line(book, lines, &line, remedy->name, added, message);
    dw_record_clear(&line.record);
    return status;
}

// A part has no price yet: whoever orders it puts it in.
static DwStatus add_parts(DwBook *book, int64_t estimate, const DwRecords *lines, const DwGuideRemedy *remedy,
                          size_t *added, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (const char *at = remedy->parts; status == DW_OK && at && *at;) {
        at += strspn(at, "; ");
        size_t length = strcspn(at, ";");
        char *name = dw_text_format("%.*s", (int)length, at);
        DwBillLine line;
        dw_record_init(&line.record, &dw_estimate_line_entity);
        line.bill_id = estimate;
        line.tier = remedy->order <= SAFETY_ORDER ? DW_TIER_MINIMUM : DW_TIER_RECOMMENDED;
        line.kind = DW_LINE_PART;
        line.quantity = 1;
        line.price = line.amount = 0;
        if (*name)
            status = add_line(book, lines, &line, name, added, message);
        dw_record_clear(&line.record);
        free(name);
        at += length;
    }
    return status;
}

static DwStatus add_works(DwBook *book, const DwGuideKnowledge *knowledge, const DwGuideWorks *works, int64_t deck,
                          int64_t estimate, size_t *added, DwMessage *message)
{
    DwRecords lines;
    DwStatus status = dw_record_list(book, &dw_estimate_line_entity, "estimate_id", estimate, &lines, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; status == DW_OK && i < works->count; i++) {
        const DwGuideRemedy *remedy = &knowledge->remedies[works->works[i].remedy];
        status = add_labour(book, deck, estimate, &lines, remedy, &works->works[i], added, message);
        if (status == DW_OK)
            status = add_parts(book, estimate, &lines, remedy, added, message);
    }
    dw_records_clear(&lines);
    return status;
}

DwStatus dw_job_guide_estimate(DwBook *book, const DwJob *job, const DwGuideKnowledge *knowledge,
                               const DwGuideWorks *works, int64_t *version, size_t *added, DwMessage *message)
{
    *added = 0;
    if (!works->count)
        return dw_fail(message, DW_BAD_INPUT,
                       "No cause is likely enough yet for a plan of work. Answer the guide's "
                       "questions first.");
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    DwEstimate estimate;
    dw_record_init(&estimate.record, &dw_estimate_entity);
    status = open_draft(book, job->record.id, &estimate, message);
    if (status == DW_OK)
        status = add_works(book, knowledge, works, job->deck_id, estimate.record.id, added, message);
    *version = estimate.version;
    dw_record_clear(&estimate.record);
    return dw_book_end(book, status, message);
}
