// SPDX-License-Identifier: MIT
// Several decks that one customer brings at once: jobs that came in together (DwJob.came_with_id), each a job of its
// own, with one receipt, one notice, and bills together or apart.
#ifndef DW_BOOK_VISIT_H
#define DW_BOOK_VISIT_H

#include "book/job/job.h"

// The jobs that came in together with JOB, itself among them, by their numbers. The caller frees them with
// dw_records_clear().
DwStatus dw_visit_jobs(DwBook *book, int64_t job, DwRecords *jobs, DwMessage *message);
// Does ACT with each other job that came in together with JOB, by their numbers, until one fails.
typedef DwStatus DwVisitAct(DwBook *book, const DwJob *other, void *user, DwMessage *message);
DwStatus dw_visit_each(DwBook *book, int64_t job, DwVisitAct *act, void *user, DwMessage *message);
// Whether JOB may be said to have come in with the job in its came_with_id: of the same customer, the first of its
// visit, and no other that came with JOB; else DW_BAD_INPUT.
DwStatus dw_visit_check(DwBook *book, const DwJob *job, DwMessage *message);

// The first job of the visit of job ?1, and the ids of all of them, in SQL.
#define DW_VISIT_FIRST "(SELECT coalesce(came_with_id, id) FROM job WHERE id = ?1)"
#define DW_VISIT_OF_JOB                                                                                                \
    "(SELECT id FROM job WHERE came_with_id = " DW_VISIT_FIRST " OR (id = " DW_VISIT_FIRST " AND came_with_id IS "     \
    "NULL))"

#endif
