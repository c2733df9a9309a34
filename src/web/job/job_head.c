// SPDX-License-Identifier: MIT
#include "web/job/job_head.h"

#include "web/job/job_line.h"
#include "web/page/page.h"

bool dw_job_head_find(const DwWebRequest *request, DwJob *job, DwAnswer *refusal)
{
    DwMessage message;
    dw_record_init(&job->record, &dw_job_entity);
    DwStatus status = dw_job_find(request->book, dw_request_path(request, "number"), job, &message);
    if (status == DW_BAD_INPUT)
        *refusal = dw_answer_refusal(404, dw_message_said(&message));
    else if (status != DW_OK)
        *refusal = dw_answer_trouble(status, &message);
    return status == DW_OK;
}

void dw_job_head_write(DwPage *page, const DwJob *job, const char *title)
{
    dw_job_line_write(page, job, "");
    dw_html_element(page->html, "h1", title, NULL);
}

DwAnswer dw_job_head_attached(const DwWebRequest *request,
                              DwAnswer (*write)(const DwWebRequest *request, const DwJob *job, const DwRecords *all))
{
    DwAnswer answer;
    DwJob job;
    DwRecords all;
    DwMessage message;
    if (dw_job_head_find(request, &job, &answer)) {
        DwStatus status = dw_attachment_of_job(request->book, job.record.id, &all, &message);
        answer = status == DW_OK ? write(request, &job, &all) : dw_answer_trouble(status, &message);
        if (status == DW_OK)
            dw_records_clear(&all);
    }
    dw_record_clear(&job.record);
    return answer;
}
