// SPDX-License-Identifier: MIT
// Estimates in versions. One version offers three options, each containing the
// one before; once it is issued it is not changed: another version replaces it.
#ifndef DW_BOOK_ESTIMATE_H
#define DW_BOOK_ESTIMATE_H

#include "book/money/bill.h"
#include "book/store/words.h"

typedef enum {
    DW_ESTIMATE_DRAFT,
    DW_ESTIMATE_ISSUED,
    DW_ESTIMATE_ACCEPTED,
    DW_ESTIMATE_DECLINED,
    DW_ESTIMATE_REPLACED,
} DwEstimateState;

typedef struct {
    DwRecord record;
    int64_t job_id;
    int64_t version; // 1 is the first
    int state;       // DwEstimateState
    char *issued_on;
    char *valid_until;
    int64_t tax_rate;
    int64_t ceiling;           // what the owner let be spent; DW_AMOUNT_NONE when not said
    int64_t replacement_value; // of an equivalent working deck
    char *words;               // to the owner
} DwEstimate;

extern const DwEntity dw_estimate_entity;

// Starts the next version on JOB into an initialised record: the lines, ceiling
// and value of the version before are taken over, tax from the settings.
DwStatus dw_estimate_draft(DwBook *book, int64_t job, DwEstimate *estimate, DwMessage *message);
// Gives the draft out: from now on it stands, until its last valid day. An
// earlier version still open is replaced. An empty one is DW_BAD_INPUT.
DwStatus dw_estimate_issue(DwBook *book, int64_t estimate, DwMessage *message);
// The totals of one option. *UNECONOMIC tells whether it is above the shop's
// share of the replacement value; false when that value is not known.
DwStatus dw_estimate_totals(DwBook *book, int64_t estimate, DwTier tier, DwTotals *totals, bool *uneconomic,
                            DwMessage *message);
// The totals of one option for each rate of tax. The caller frees *SHARES with dw_tax_shares_clear().
DwStatus dw_estimate_shares(DwBook *book, int64_t estimate, DwTier tier, DwTaxShares *shares, DwMessage *message);

#endif
