// SPDX-License-Identifier: MIT
#include "book/job/visit.h"

#include "book/store/private.h"

DwStatus dw_visit_jobs(DwBook *book, int64_t job, DwRecords *jobs, DwMessage *message)
{
    return dw_record_select(book, &dw_job_entity, "WHERE id IN " DW_VISIT_OF_JOB " ORDER BY number", job, jobs,
                            message);
}

DwStatus dw_visit_each(DwBook *book, int64_t job, DwVisitAct *act, void *user, DwMessage *message)
{
    DwRecords jobs;
    DwStatus status = dw_visit_jobs(book, job, &jobs, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; status == DW_OK && i < jobs.count; i++)
        if (dw_records_at(&jobs, i)->id != job)
            status = act(book, (const DwJob *)dw_records_at(&jobs, i), user, message);
    dw_records_clear(&jobs);
    return status;
}

DwStatus dw_visit_check(DwBook *book, const DwJob *job, DwMessage *message)
{
    DwJob first;
    int64_t followers = 0;
    dw_record_init(&first.record, &dw_job_entity);
    DwStatus status = dw_record_load(book, &first.record, job->came_with_id, message);
    if (status == DW_OK)
        status = dw_query_number(book, "SELECT count(*) FROM job WHERE came_with_id = ?", job->record.id, &followers,
                                 message);
    long long number = first.number;
    if (status == DW_OK && first.record.id == job->record.id)
        status = dw_fail(message, DW_BAD_INPUT, "A job does not come in with itself.");
    else if (status == DW_OK && first.customer_id != job->customer_id)
        status = dw_fail(message, DW_BAD_INPUT, "Job %04lld is another customer's: a visit is of one.", number);
    else if (status == DW_OK && first.came_with_id)
        status = dw_fail(message, DW_BAD_INPUT, "Job %04lld came in with another one itself. Name that one.", number);
    else if (status == DW_OK && followers)
        status = dw_fail(message, DW_BAD_INPUT,
                         "Other jobs came in with job %04lld. Say of job %04lld that it came in with this one.",
                         (long long)job->number, number);
    dw_record_clear(&first.record);
    return status;
}
