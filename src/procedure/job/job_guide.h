// SPDX-License-Identifier: MIT
// The guide and the job book: what a job says goes into a case, and how long works take.
#ifndef DW_PROCEDURE_JOB_GUIDE_H
#define DW_PROCEDURE_JOB_GUIDE_H

#include "book/job/job.h"
#include "guide/guide_work.h"

// What data/guide knows, as its files are now. What is wrong with it is DW_BAD_INPUT. The caller gives *KNOWLEDGE back
// with dw_job_guide_done(), which takes NULL; several may have it at a time.
DwStatus dw_job_guide_knowledge(const DwGuideKnowledge **knowledge, DwMessage *message);
void dw_job_guide_done(const DwGuideKnowledge *knowledge);
// Puts into CASE the drive, age and kind of the job's deck, what its sheets measured, what the guide was answered on it
// last, and what the shop itself confirmed on other decks.
DwStatus dw_job_guide_take(DwBook *book, const DwJob *job, DwGuideCase *guide_case, DwMessage *message);
// Fills the minutes that operations.ini has for a deck such as CASE's.
DwStatus dw_job_guide_minutes(const DwGuideCase *guide_case, DwGuideWorks *works, DwMessage *message);

// Keeps as a finding of JOB that FAULT (its key) was confirmed; the shop's experience counts it once the deck is handed
// over. One that says so already stands, and *ADDED is false then.
DwStatus dw_job_guide_confirm(DwBook *book, const DwJob *job, const DwGuideCase *guide_case, const char *fault,
                              bool *added, DwMessage *message);
// Puts WORKS into the job's draft of an estimate, begun where there is none: for each work a line of labour at the
// shop's rate, and one for each part, whose price is still to be put in. What stands there by name is left. *VERSION is
// the estimate's, *ADDED how many lines came in. No works are DW_BAD_INPUT.
DwStatus dw_job_guide_estimate(DwBook *book, const DwJob *job, const DwGuideKnowledge *knowledge,
                               const DwGuideWorks *works, int64_t *version, size_t *added, DwMessage *message);

// Puts the work of JOB on the bench as operations to be ticked off, in a sensible order and with what is to be heeded:
// the labour of the option that stands agreed to, or where none does the works that the guide plans. What stands by
// name is not added twice. *ADDED is how many came in. Nothing to be done is DW_BAD_INPUT.
DwStatus dw_job_guide_plan(DwBook *book, const DwJob *job, size_t *added, DwMessage *message);
// Adds to SHEET the parts that WORKS want (guide.parts): which lie on the shop's shelf, and which must be ordered.
DwStatus dw_job_guide_parts(DwBook *book, const DwJob *job, const DwGuideKnowledge *knowledge,
                            const DwGuideWorks *works, DwSheet *sheet, DwMessage *message);

#endif
