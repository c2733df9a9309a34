// SPDX-License-Identifier: MIT
// The rows of report.c, one paper a file: each fills the dossier's flow.
#ifndef DW_REPORT_PAPERS_H
#define DW_REPORT_PAPERS_H

#include "report/dossier.h"

// Each writes one paper into the dossier's flow. Status: DW_BAD_INPUT with one line where the job lacks
// what the paper is about.
DwStatus dw_paper_receipt(DwDossier *dossier, DwMessage *message);
DwStatus dw_paper_estimate(DwDossier *dossier, DwMessage *message);
DwStatus dw_paper_service(DwDossier *dossier, DwMessage *message);
DwStatus dw_paper_proof(DwDossier *dossier, DwMessage *message);
DwStatus dw_paper_invoice(DwDossier *dossier, DwMessage *message);
DwStatus dw_paper_label(DwDossier *dossier, DwMessage *message);
DwStatus dw_paper_transport(DwDossier *dossier, DwMessage *message);
DwStatus dw_paper_notice(DwDossier *dossier, DwMessage *message);

// Parts of the proof.
DwStatus dw_service_add_findings(DwDossier *dossier, DwMessage *message);
void dw_service_add_measurements(DwDossier *dossier);
DwStatus dw_service_add_setup(DwDossier *dossier, DwMessage *message);
void dw_service_add_charts(DwDossier *dossier);
void dw_service_add_takes(DwDossier *dossier);
DwStatus dw_service_add_work(DwDossier *dossier, DwMessage *message);
DwStatus dw_service_add_photos(DwDossier *dossier, DwMessage *message);
void dw_service_add_limits(DwDossier *dossier);
// How the cause was found: the last sheet of the guide with answers, which the caller frees with dw_sheet_free(), or
// NULL; whether it led to a cause; for the owner, the answers only with IN_FULL; and whole.
DwSheet *dw_service_path(const DwDossier *dossier);
bool dw_service_path_leads(const DwSheet *path);
void dw_service_add_path(DwDossier *dossier, bool in_full);
void dw_service_add_path_whole(DwDossier *dossier);
// Parts of the service report: what the owner is to do; and what stands behind its numbers, the owner's words
// only with WORDS_IN_FULL.
void dw_service_add_todo(DwDossier *dossier);
DwStatus dw_service_add_rest(DwDossier *dossier, bool words_in_full, DwMessage *message);
// Reads the settings as left; before the numbers.
void dw_service_read_settings(DwDossier *dossier);
// At most MOST numbers of page one.
enum { DW_SERVICE_NUMBERS_MOST = 6 };
void dw_service_add_numbers(DwDossier *dossier, size_t most);

// The newest estimate or invoice of the job into an initialised record: one that was given out
// before a draft, credit notes only with CREDITS_TOO. None is DW_BAD_INPUT.
DwStatus dw_paper_newest(const DwDossier *dossier, DwRecord *record, bool credits_too, DwMessage *message);
// Heading and text of the warranty: from FROM until UNTIL, or (UNTIL empty) so many days from the
// invoice; what it covers and excludes where that is said. NULL is as good as "".
void dw_paper_add_warranty(DwDossier *dossier, const char *from, const char *until, const char *covers,
                           const char *excludes);
// Rows of net, tax and total, for a table whose last columns are amounts.
char *dw_paper_tax_name(const DwDossier *dossier, int64_t rate);

#endif
