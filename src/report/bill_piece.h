// SPDX-License-Identifier: MIT
// What the papers of an estimate and of an invoice share.
#ifndef DW_REPORT_BILL_PIECE_H
#define DW_REPORT_BILL_PIECE_H

#include "report/dossier.h"

// "Clean and oil the bearing, 45 min" or "Belt, 2 ×": what the amount is made of. The caller frees it with free().
char *dw_bill_line_name(const char *name, int kind, int64_t minutes, double quantity);
// A row of sums in the last COUNT columns.
void dw_bill_add_sum(const DwDossier *dossier, DwPaperTable *table, const char *name, const int64_t *amounts,
                     size_t count, bool total);
// Who agreed to what, when, how, up to which amount; of ESTIMATE alone, or (0) of the whole job.
// Of what was written down until the moment UNTIL, or (NULL) to this day.
DwStatus dw_bill_add_consents(DwDossier *dossier, int64_t estimate, const char *until, DwMessage *message);

#endif
