// SPDX-License-Identifier: MIT
// Lists of words that several entities share, in the order of their enums.
#ifndef DW_BOOK_WORDS_H
#define DW_BOOK_WORDS_H

// DwVerdict of base/sheet.h.
#define DW_GRADE_WORDS "none|good|serviceable|cannot tell|attention soon|replace|unsafe|not tested"

// When on a job something was seen or measured.
typedef enum {
    DW_PHASE_NONE,
    DW_PHASE_AS_RECEIVED,
    DW_PHASE_DURING,
    DW_PHASE_AS_LEFT,
} DwPhase;

#define DW_PHASE_WORDS "none|as received|during|as left"

// The three options of an estimate; each contains the ones before it.
typedef enum {
    DW_TIER_MINIMUM,
    DW_TIER_RECOMMENDED,
    DW_TIER_FULL,
    DW_TIER_ALL, // of an answer: none of them in particular
} DwTier;

#define DW_TIER_WORDS "minimum|recommended|full"

// What a line of an estimate or an invoice bills.
#define DW_LINE_WORDS "labour|part|materials|carriage|charge|credit"

// The jobs of customer ?1, for rows that hang on a job.
#define DW_JOBS_OF_CUSTOMER "job_id IN (SELECT id FROM job WHERE customer_id = ?1)"

// The decks customer ?1 owns or has owned.
#define DW_DECKS_OF_CUSTOMER "(SELECT deck_id FROM ownership WHERE customer_id = ?1)"

#endif
