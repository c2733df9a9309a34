// SPDX-License-Identifier: MIT
// Procedures and the job book: what the book knows goes into a procedure's
// inputs, and its sheet is kept on a job.
#ifndef DW_PROCEDURE_JOB_SHEET_H
#define DW_PROCEDURE_JOB_SHEET_H

#include "book/job/job.h"
#include "procedure/registry/procedure.h"

// Reads "received", "during" or "left"; anything else, NULL too, is DW_BAD_INPUT.
DwStatus dw_job_sheet_phase(const char *word, DwPhase *phase, DwMessage *message);

// Puts into INPUTS what PROCEDURE takes and the book knows of JOB: its deck, arm
// and cartridge, the values noted for the deck, the only recording chain, the
// record and chain of the job's last recordings (band and all of the last one of this
// procedure), how arm and leads are set (as received for that phase), and of its model what
// the deck itself does not say. What is known better replaces the rest.
DwStatus dw_job_sheet_prefill(DwBook *book, const DwJob *job, DwPhase phase, const DwProcedure *procedure,
                              DwInputs *inputs, DwMessage *message);
// The same beside what is TYPED (or NULL): of quantities that say one thing twice, such as an arm's
// overhang and its effective length, the book then leaves out what would contradict it.
DwStatus dw_job_sheet_prefill_beside(DwBook *book, const DwJob *job, DwPhase phase, const DwProcedure *procedure,
                                     const DwInputs *typed, DwInputs *inputs, DwMessage *message);

// The same without what is the model's.
DwStatus dw_job_sheet_prefill_own(DwBook *book, const DwJob *job, DwPhase phase, const DwProcedure *procedure,
                                  const DwInputs *typed, DwInputs *inputs, DwMessage *message);
// Takes into INPUTS, which hold what the book knows of JOB's deck, what the library knows of its model and
// neither they nor what is TYPED (or NULL) say. A dimension that hangs together with one that the deck
// itself gives is left out: the arm or the motor on it may be another. Where nobody says the class, the year it was
// made does, if that is before the first hi-fi standard.
DwStatus dw_job_model_prefill(DwBook *book, int64_t deck, const DwProcedure *procedure, const DwInputs *typed,
                              DwInputs *inputs, DwMessage *message);
// Says on SHEET which of its inputs stand as the library has them for the deck's model and
// were not found on the deck itself. Saying it twice says it once.
DwStatus dw_job_model_remark(DwBook *book, int64_t deck, DwSheet *sheet, DwMessage *message);

// Puts the shop's own limits for the deck of JOB on SHEET, and what of it is the model's.
DwStatus dw_job_sheet_bound(DwBook *book, const DwJob *job, DwSheet *sheet, DwMessage *message);
// Keeps SHEET, with those limits, on the job called NUMBER, and gives the id of the measurement.
DwStatus dw_job_sheet_keep(DwBook *book, const char *number, DwPhase phase, DwSheet *sheet, int64_t *id,
                           DwMessage *message);

#endif
