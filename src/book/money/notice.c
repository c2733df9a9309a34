// SPDX-License-Identifier: MIT
#include "book/money/invoice.h"

#include "book/job/visit.h"
#include "book/store/private.h"

#include <string.h>

// The same notice for another job of its visit, unless that does not wait for its owner or was told of before.
static DwStatus note_also(DwBook *book, const DwJob *job, void *user, DwMessage *message)
{
    const DwNotice *notice = user;
    int64_t told = 0;
    DwStatus status = dw_query_number(
        book,
        "SELECT count(*) FROM notice JOIN job ON job.id = notice.job_id WHERE job.id = ? AND notice.kind = 'ready' AND "
        "sent_on >= substr(state_since, 1, 10)",
        job->record.id, &told, message);
    if (status != DW_OK || told || !dw_job_waits_for_owner((DwJobState)job->state))
        return status;
    DwNotice copy;
    dw_record_init(&copy.record, &dw_notice_entity);
    copy.job_id = job->record.id;
    copy.kind = notice->kind;
    copy.how = notice->how;
    dw_field_replace(&copy.sent_on, notice->sent_on);
    dw_field_replace(&copy.words, notice->words);
    status = dw_record_save(book, &copy.record, message);
    dw_record_clear(&copy.record);
    return status;
}

// That they are ready is told once of all decks that came in together and are: the notice names them all.
DwStatus dw_notice_add(DwBook *book, DwNotice *notice, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    status = dw_record_save(book, &notice->record, message);
    if (status == DW_OK && notice->kind == DW_NOTICE_READY)
        status = dw_visit_each(book, notice->job_id, note_also, notice, message);
    status = dw_book_end(book, status, message);
    if (status != DW_OK)
        notice->record.id = 0;
    return status;
}

static bool is_same_letter(const DwNotice *one, const DwNotice *other)
{
    const char *words = one->words ? one->words : "", *others = other->words ? other->words : "";
    return one->kind == other->kind && one->how == other->how && strcmp(one->sent_on, other->sent_on) == 0 &&
           strcmp(words, others) == 0;
}

// Takes the letter NOTICE off JOB too, which was told of by it.
static DwStatus remove_also(DwBook *book, const DwJob *job, void *user, DwMessage *message)
{
    const DwNotice *notice = user;
    DwRecords notices = {0};
    DwStatus status = dw_record_list(book, &dw_notice_entity, "job_id", job->record.id, &notices, message);
    for (size_t i = 0; status == DW_OK && i < notices.count; i++) {
        DwNotice *other = (DwNotice *)dw_records_at(&notices, i);
        if (!is_same_letter(notice, other))
            continue;
        status = dw_record_remove(book, &other->record, message);
        break;
    }
    dw_records_clear(&notices);
    return status;
}

DwStatus dw_notice_remove(DwBook *book, DwNotice *notice, DwMessage *message)
{
    DwStatus status = DW_OK;
    if (notice->kind == DW_NOTICE_READY)
        status = dw_visit_each(book, notice->job_id, remove_also, notice, message);
    return status == DW_OK ? dw_record_remove(book, &notice->record, message) : status;
}
