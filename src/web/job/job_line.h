// SPDX-License-Identifier: MIT
// The line that says on which job one is at work.
#ifndef DW_WEB_JOB_LINE_H
#define DW_WEB_JOB_LINE_H

#include "book/job/job.h"
#include "web/page/page.h"
#include "web/server/request.h"

// "Job 0012 · Marvell TX-2 · as received", a link to the job. AS is received,
// during, left or "".
void dw_job_line_write(DwPage *page, const DwJob *job, const char *as);
// "as received" for received …, translated; "" for none. Valid for ever.
const char *dw_job_line_phase(const char *as);
// The word of an address (received …) for PHASE; "" for none.
const char *dw_job_line_as(DwPhase phase);

// A list to choose one of the jobs in the shop by, CHOSEN standing first.
void dw_job_line_choose(DwPage *page, const char *name, const char *chosen);
// The same for when on it something was measured.
void dw_job_line_choose_phase(DwPage *page, const char *name, const char *chosen);

#endif
