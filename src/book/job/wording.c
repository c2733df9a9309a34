// SPDX-License-Identifier: MIT
#include "book/job/wording.h"

#include "book/store/journal.h"
#include "book/store/private.h"
#include "book/store/words.h"

#include <string.h>

// A letter may name its reader: the text goes with the customer.
static const DwField fields[] = {
    {"job_id", "Job", DW_FIELD_REFERENCE, offsetof(DwWording, job_id), .refers = "job", .required = true},
    {"paper", "Paper", DW_FIELD_TEXT, offsetof(DwWording, paper), .required = true},
    {"key", "Text", DW_FIELD_TEXT, offsetof(DwWording, key), .required = true},
    {"locale", "Language", DW_FIELD_TEXT, offsetof(DwWording, locale)},
    {"text", "Wording", DW_FIELD_TEXT, offsetof(DwWording, text), .required = true, .personal = true},
};

const DwEntity dw_wording_entity = {"wording",
                                    "wording",
                                    sizeof(DwWording),
                                    fields,
                                    sizeof fields / sizeof *fields,
                                    .of_customer = DW_JOBS_OF_CUSTOMER};

static DwStatus find(DwBook *book, int64_t job, const char *paper, const char *key, const char *locale, int64_t *id,
                     DwMessage *message)
{
    DwQuery query =
        dw_query_begin(book, "SELECT id FROM wording WHERE job_id = ? AND paper = ? AND key = ? AND locale = ?");
    dw_query_bind_integer(&query, job);
    dw_query_bind_text(&query, paper);
    dw_query_bind_text(&query, key);
    dw_query_bind_text(&query, locale);
    int64_t found = dw_query_step(&query) ? dw_query_integer(&query, 0) : 0;
    *id = found;
    return dw_query_end(&query, message);
}

DwStatus dw_wording_set(DwBook *book, int64_t job, const char *paper, const char *key, const char *locale,
                        const char *text, DwMessage *message)
{
    DwWording wording;
    dw_record_init(&wording.record, &dw_wording_entity);
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    int64_t id = 0;
    status = find(book, job, paper, key, locale, &id, message);
    if (status == DW_OK && id)
        status = dw_record_load(book, &wording.record, id, message);
    if (status == DW_OK) {
        wording.job_id = job;
        dw_field_replace(&wording.paper, paper);
        dw_field_replace(&wording.key, key);
        dw_field_replace(&wording.locale, locale);
        dw_field_replace(&wording.text, text);
        status = dw_record_save(book, &wording.record, message);
    }
    dw_record_clear(&wording.record);
    return dw_book_end(book, status, message);
}

DwStatus dw_wording_drop(DwBook *book, int64_t job, const char *paper, const char *key, const char *locale,
                         DwMessage *message)
{
    int64_t id = 0;
    DwStatus status = find(book, job, paper, key, locale, &id, message);
    if (status == DW_OK && !id)
        return dw_fail(message, DW_BAD_INPUT, "\"%s\" was not edited on this job's paper \"%s\".", key, paper);
    if (status != DW_OK)
        return status;
    DwWording wording;
    dw_record_init(&wording.record, &dw_wording_entity);
    wording.record.id = id;
    status = dw_record_remove(book, &wording.record, message);
    dw_record_clear(&wording.record);
    return status;
}

DwStatus dw_wording_of_job(DwBook *book, int64_t job, DwRecords *wordings, DwMessage *message)
{
    return dw_record_list(book, &dw_wording_entity, "job_id", job, wordings, message);
}

bool dw_wording_stands(const DwWording *wording)
{
    return wording->text && *wording->text && strcmp(wording->text, DW_JOURNAL_ERASED) != 0;
}
