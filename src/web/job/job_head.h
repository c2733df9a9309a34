// SPDX-License-Identifier: MIT
// What the pages of one job share: finding it by the number in their path, and
// their head.
#ifndef DW_WEB_JOB_HEAD_H
#define DW_WEB_JOB_HEAD_H

#include "book/job/job.h"
#include "book/store/attachment.h"
#include "web/page/page.h"
#include "web/server/request.h"

// The job whose number stands in the path as ":number", into JOB, which is initialised
// here. False when there is none: REFUSAL says so. Clear it with
// dw_record_clear() either way.
bool dw_job_head_find(const DwWebRequest *request, DwJob *job, DwAnswer *refusal);
// A page of the job in the path and of what is attached to it: what WRITE makes of them.
DwAnswer dw_job_head_attached(const DwWebRequest *request,
                              DwAnswer (*write)(const DwWebRequest *request, const DwJob *job, const DwRecords *all));
// The page's heading TITLE under the line that says on which job one is at work.
void dw_job_head_write(DwPage *page, const DwJob *job, const char *title);

#endif
