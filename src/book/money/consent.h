// SPDX-License-Identifier: MIT
// The consent log: who agreed to what, when, how, up to which amount, and who
// took it down. Lines are only ever added.
#ifndef DW_BOOK_CONSENT_H
#define DW_BOOK_CONSENT_H

#include "book/money/estimate.h"

typedef enum {
    DW_CONSENT_AGREED,
    DW_CONSENT_UP_TO, // agreed up to a ceiling
    DW_CONSENT_REFUSED,
    DW_CONSENT_WAIT, // wants to think about it
} DwConsentAnswer;

typedef struct {
    DwRecord record;
    int64_t job_id;
    int64_t estimate_id; // 0 when it is about no estimate (a ceiling at intake)
    int tier;            // DwTier that was answered, DW_TIER_ALL for all of them
    int answer;          // DwConsentAnswer
    int64_t amount;      // tax included; DW_AMOUNT_NONE when it is refused or left open
    char *person;
    int how;       // DwRoute
    char *contact; // the telephone number or address it came from
    char *words;   // what extra parts and labour, in the words used
    char *at;
    char *who; // who took it down
} DwConsent;

extern const DwEntity dw_consent_entity;

// Adds an initialised CONSENT with its job, answer and person. Agreeing to an
// estimate takes its option's total as the amount where none is given, and marks
// the estimate; one that was not given out, was replaced or has run out is
// DW_BAD_INPUT. A refusal closes the option that it names, all where it names none; the
// estimate is declined when none is left, and another version asks again.
DwStatus dw_consent_log(DwBook *book, DwConsent *consent, DwMessage *message);
// What may be billed on JOB without asking again: the latest amount agreed that no later refusal took back; else, after
// a refusal, what was told to be charged for an estimate; else the ceiling of the intake, else DW_AMOUNT_NONE.
DwStatus dw_consent_agreed(DwBook *book, int64_t job, int64_t *amount, DwMessage *message);

// The estimate and the option of it that stand agreed to on JOB; *ESTIMATE is 0 where none does.
DwStatus dw_consent_option(DwBook *book, int64_t job, int64_t *estimate, DwTier *tier, DwMessage *message);
// The operations of JOB that were planned by what stands agreed to and are not done, in the order of the plan. The
// caller frees them with dw_records_clear(). *PLANNED: how many there are with those that are done.
DwStatus dw_consent_open_work(DwBook *book, int64_t job, DwRecords *operations, size_t *planned, DwMessage *message);

#endif
