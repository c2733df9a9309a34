// SPDX-License-Identifier: MIT
#include "base/memory.h"
#include "book/store/private.h"
#include "book/job/verdict.h"

#include <stdlib.h>
#include <string.h>

static const DwField verdict_fields[] = {
    {"job_id", "Job", DW_FIELD_REFERENCE, offsetof(DwItemVerdict, job_id), .refers = "job", .required = true},
    {"item", "Item", DW_FIELD_TEXT, offsetof(DwItemVerdict, item), .required = true},
    {"aspect", "Aspect", DW_FIELD_CHOICE, offsetof(DwItemVerdict, aspect),
     .choices = "use|records|performance|appearance"},
    {"phase", "When", DW_FIELD_CHOICE, offsetof(DwItemVerdict, phase), .choices = DW_PHASE_WORDS},
    {"grade", "Grade", DW_FIELD_CHOICE, offsetof(DwItemVerdict, grade), .choices = DW_GRADE_WORDS},
    {"evidence", "Evidence", DW_FIELD_TEXT, offsetof(DwItemVerdict, evidence), .lines = true},
    {"action", "Action", DW_FIELD_TEXT, offsetof(DwItemVerdict, action), .lines = true},
    {"at", "At", DW_FIELD_MOMENT, offsetof(DwItemVerdict, at), .required = true, .kept = true},
    {"who", "By", DW_FIELD_TEXT, offsetof(DwItemVerdict, who), .kept = true},
};

static const DwField acknowledgement_fields[] = {
    {"verdict_id", "Verdict", DW_FIELD_REFERENCE, offsetof(DwAcknowledgement, verdict_id), .refers = "verdict",
     .required = true},
    {"person", "Told to", DW_FIELD_TEXT, offsetof(DwAcknowledgement, person), .required = true, .personal = true},
    {"words", "Words", DW_FIELD_TEXT, offsetof(DwAcknowledgement, words), .required = true},
    {"at", "At", DW_FIELD_MOMENT, offsetof(DwAcknowledgement, at), .required = true},
    {"who", "By", DW_FIELD_TEXT, offsetof(DwAcknowledgement, who)},
};

const DwEntity dw_verdict_entity = {"verdict",
                                    "verdict",
                                    sizeof(DwItemVerdict),
                                    verdict_fields,
                                    sizeof verdict_fields / sizeof *verdict_fields,
                                    .of_customer = DW_JOBS_OF_CUSTOMER};
const DwEntity dw_acknowledgement_entity = {"acknowledgement",
                                            "acknowledgement",
                                            sizeof(DwAcknowledgement),
                                            acknowledgement_fields,
                                            sizeof acknowledgement_fields / sizeof *acknowledgement_fields,
                                            .of_customer =
                                                "verdict_id IN (SELECT id FROM verdict WHERE " DW_JOBS_OF_CUSTOMER ")",
                                            .quiet = true};

static DwStatus leave_ready(DwBook *book, const DwItemVerdict *verdict, DwMessage *message)
{
    int64_t is_ready = 0;
    DwStatus status = dw_query_number(book, "SELECT count(*) FROM job WHERE id = ? AND state = 'ready'",
                                      verdict->job_id, &is_ready, message);
    if (status != DW_OK || !is_ready)
        return status;
    return dw_job_move(book, verdict->job_id, DW_JOB_VERIFYING, verdict->item, "An item was found unsafe.", message);
}

DwStatus dw_verdict_give(DwBook *book, DwItemVerdict *verdict, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    dw_field_stamp(book, &verdict->at, &verdict->who);
    if (verdict->grade == DW_VERDICT_UNSAFE)
        status = leave_ready(book, verdict, message);
    if (status == DW_OK)
        status = dw_record_keep(book, &verdict->record, message);
    status = dw_book_end(book, status, message);
    if (status != DW_OK)
        verdict->record.id = 0;
    return status;
}

DwStatus dw_verdict_standing(DwBook *book, int64_t job, DwRecords *verdicts, DwMessage *message)
{
    return dw_record_select(book, &dw_verdict_entity,
                            "AS v WHERE job_id = ?1 AND id = (SELECT max(id) FROM verdict WHERE job_id = ?1 AND "
                            "item = v.item) ORDER BY (SELECT min(id) FROM verdict WHERE job_id = ?1 AND item = v.item)",
                            job, verdicts, message);
}

static DwStatus acknowledge_one(DwBook *book, int64_t verdict, const char *person, const char *words,
                                DwMessage *message)
{
    int64_t known = 0;
    DwStatus status =
        dw_query_number(book, "SELECT count(*) FROM acknowledgement WHERE verdict_id = ?", verdict, &known, message);
    if (status != DW_OK || known)
        return status;
    DwAcknowledgement entry;
    dw_record_init(&entry.record, &dw_acknowledgement_entity);
    entry.verdict_id = verdict;
    entry.person = dw_memory_text(person);
    entry.words = dw_memory_text(words);
    dw_field_stamp(book, &entry.at, &entry.who);
    status = dw_record_keep(book, &entry.record, message);
    dw_record_clear(&entry.record);
    return status;
}

DwStatus dw_verdict_acknowledge(DwBook *book, int64_t job, const char *person, const char *words, DwMessage *message)
{
    DwRecords verdicts;
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    status = dw_verdict_standing(book, job, &verdicts, message);
    if (status != DW_OK)
        return dw_book_end(book, status, message);
    size_t unsafe = 0;
    for (size_t i = 0; status == DW_OK && i < verdicts.count; i++) {
        const DwItemVerdict *verdict = (const DwItemVerdict *)dw_records_at(&verdicts, i);
        if (verdict->grade != DW_VERDICT_UNSAFE)
            continue;
        unsafe++;
        status = acknowledge_one(book, verdict->record.id, person, words, message);
    }
    if (status == DW_OK && unsafe == 0)
        status = dw_fail(message, DW_BAD_INPUT, "No item of this job is unsafe; there is nothing to acknowledge.");
    dw_records_clear(&verdicts);
    return dw_book_end(book, status, message);
}

static int badness(int grade)
{
    switch ((DwVerdict)grade) {
    case DW_VERDICT_NONE:
        return 0;
    case DW_VERDICT_GOOD:
        return 1;
    case DW_VERDICT_SERVICEABLE:
        return 2;
    case DW_VERDICT_CANNOT_TELL: // no pass either
    case DW_VERDICT_NOT_TESTED:
        return 3;
    case DW_VERDICT_ATTENTION:
        return 4;
    case DW_VERDICT_REPLACE:
        return 5;
    case DW_VERDICT_UNSAFE:
        return 6;
    }
    return 0;
}

DwStatus dw_verdict_overall(DwBook *book, int64_t job, DwOverall overall[DW_ASPECT_COUNT], DwMessage *message)
{
    DwRecords verdicts;
    DwStatus status = dw_verdict_standing(book, job, &verdicts, message);
    if (status != DW_OK)
        return status;
    for (int i = 0; i < DW_ASPECT_COUNT; i++)
        overall[i] = (DwOverall){.grade = DW_VERDICT_NONE, .item = dw_memory_text("")};
    for (size_t i = 0; i < verdicts.count; i++) {
        const DwItemVerdict *verdict = (const DwItemVerdict *)dw_records_at(&verdicts, i);
        DwOverall *aspect = &overall[verdict->aspect];
        aspect->not_tested += verdict->grade == DW_VERDICT_NOT_TESTED;
        aspect->tested += verdict->grade != DW_VERDICT_NOT_TESTED && verdict->grade != DW_VERDICT_NONE;
        if (badness(verdict->grade) <= badness((int)aspect->grade))
            continue;
        aspect->grade = (DwVerdict)verdict->grade;
        free(aspect->item);
        aspect->item = dw_memory_text(verdict->item);
    }
    for (int i = 0; i < DW_ASPECT_COUNT; i++)
        if (overall[i].grade == DW_VERDICT_NONE)
            overall[i].grade = DW_VERDICT_NOT_TESTED;
    dw_records_clear(&verdicts);
    return DW_OK;
}

void dw_verdict_overall_clear(DwOverall overall[DW_ASPECT_COUNT])
{
    for (int i = 0; i < DW_ASPECT_COUNT; i++) {
        free(overall[i].item);
        overall[i] = (DwOverall){0};
    }
}
