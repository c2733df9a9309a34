// SPDX-License-Identifier: MIT
// From what was answered to what is likely wrong, and to the test that is worth its time.
// A noisy-or network over faults, several at once: docs/methods/guide.md.
#ifndef DW_GUIDE_GUIDE_REASON_H
#define DW_GUIDE_GUIDE_REASON_H

#include "guide/guide_case.h"

// How the case stands.
typedef enum {
    DW_GUIDE_NOTHING_SAID, // no symptom or finding is there yet
    DW_GUIDE_ASKING,       // the next test is worth making
    DW_GUIDE_CLEAR,        // the likely faults account for every complaint
    DW_GUIDE_CANNOT_TELL,  // no test left would tell the likely ones apart
} DwGuideStanding;

// Something that may be asked next: a test with its findings, one symptom, or the kind of drive.
typedef struct {
    int test;       // its place, or -1 where it is a question
    bool drive;     // the question which drive it has
    size_t symptom; // else of this sign
    double bits;    // expected information about what is wrong
    double worth;   // bits a minute, the risk counted as minutes
    bool safety;    // comes before all others
    bool again;     // a test whose findings were all answered, worth a second look
} DwGuideStep;

typedef struct {
    double *chance;     // of each fault; its prior where nothing said bears upon it
    bool *weighed;      // whether something said bears upon it
    size_t *order;      // the weighed faults, likeliest first
    size_t count;       // of them
    double none;        // that no fault of the list is behind it
    unsigned at_once;   // most faults at once that were weighed together
    double left_out;    // share of the probability that more at once would have; NAN where it was not worked out
    DwGuideStep *steps; // best first
    size_t step_count;
    DwGuideStanding standing;
    size_t found; // of `order`: how many are as good as certain
} DwGuideReasons;

// Weighs CASE. The caller clears REASONS with dw_guide_reasons_clear().
void dw_guide_reason(const DwGuideCase *guide_case, DwGuideReasons *reasons);
void dw_guide_reasons_clear(DwGuideReasons *reasons);

// The share of faults given CHANCE by the sum over the sets that were so.
double dw_guide_calibrated(double chance);

// Whether a fault that is found makes complaint SIGN, or one that the owner may have meant by it.
bool dw_guide_accounts_for(const DwGuideKnowledge *knowledge, const DwGuideReasons *reasons, size_t sign);
// Whether SIGN is asked of in STEP.
bool dw_guide_step_asks(const DwGuideCase *guide_case, const DwGuideStep *step, size_t sign);

// How much the evidence of sign SIGN speaks for FAULT (log2 of the ratio of its likelihoods with that
// fault alone and with none): above 0 for, below 0 against.
double dw_guide_weight(const DwGuideCase *guide_case, size_t sign, size_t fault);

#endif
