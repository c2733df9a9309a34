// SPDX-License-Identifier: MIT
// The questions that the sentences of the papers depend on. Each is answered from the
// book alone: yes, no, or that the book does not say.
#ifndef DW_REPORT_QUESTION_H
#define DW_REPORT_QUESTION_H

#include "report/dossier.h"

typedef enum {
    DW_NOT_KNOWN,
    DW_NO,
    DW_YES,
    DW_NOT_ASKED, // the sentence is of another thing
} DwReply;

typedef struct {
    const char *words; // the question as a person asks it; {word} stands for the sentence's own word
    // ABOUT is what the sentence is about besides the job (each question says what), WORD the
    // sentence's own word, or NULL.
    DwReply (*ask)(const DwDossier *dossier, const void *about, const char *word);
} DwPaperQuestion;

// No question: a caution or an instruction that holds for every deck, or a statement to be ticked by hand.
extern const DwPaperQuestion dw_question_none;
// Whether ABOUT, a text, says anything.
extern const DwPaperQuestion dw_question_said;
// Whether ABOUT, a text of the shop's choice, is WORD; NULL is not known.
extern const DwPaperQuestion dw_question_is;
// How many of a thing: ABOUT is a size_t.
extern const DwPaperQuestion dw_question_one, dw_question_several, dw_question_any;

// Of the deck.
extern const DwPaperQuestion dw_question_arrived;
extern const DwPaperQuestion dw_question_drive; // WORD is the drive's
extern const DwPaperQuestion dw_question_drive_known;
extern const DwPaperQuestion dw_question_lifts; // its platter lifts off and is packed by itself
extern const DwPaperQuestion dw_question_connect;
extern const DwPaperQuestion dw_question_unsafe;
extern const DwPaperQuestion dw_question_told;   // ABOUT is the unsafe verdict
extern const DwPaperQuestion dw_question_hazard; // WORD is the caution's

// Of the intake.
extern const DwPaperQuestion dw_question_risk; // WORD is the field of the intake
extern const DwPaperQuestion dw_question_accessories;
extern const DwPaperQuestion dw_question_marks;
extern const DwPaperQuestion dw_question_marks_placed; // ABOUT is how many, a size_t
extern const DwPaperQuestion dw_question_receipt;

// Of money and of the notices.
extern const DwPaperQuestion dw_question_estimate; // WORD is its state; ABOUT the estimate
extern const DwPaperQuestion dw_question_dear;     // ABOUT is a DwDear
extern const DwPaperQuestion dw_question_ceiling;  // ABOUT the estimate
extern const DwPaperQuestion dw_question_charge_told;
extern const DwPaperQuestion dw_question_agreed;
extern const DwPaperQuestion dw_question_invoice;      // WORD is its state; ABOUT the invoice
extern const DwPaperQuestion dw_question_bills_others; // ABOUT the invoice
extern const DwPaperQuestion dw_question_taxed;        // ABOUT the invoice
extern const DwPaperQuestion dw_question_billed;       // WORD is the invoice's state; ABOUT the invoice
extern const DwPaperQuestion dw_question_warranty;
extern const DwPaperQuestion dw_question_paid;    // ABOUT the invoice
extern const DwPaperQuestion dw_question_free;    // ABOUT is a DwStay
extern const DwPaperQuestion dw_question_storage; // ABOUT is a DwStay

// Of the work and what was measured.
extern const DwPaperQuestion dw_question_worked;
extern const DwPaperQuestion dw_question_work_noted;
extern const DwPaperQuestion dw_question_only_found;
extern const DwPaperQuestion dw_question_of_visit;
extern const DwPaperQuestion dw_question_work_open;
extern const DwPaperQuestion dw_question_operations;
extern const DwPaperQuestion dw_question_parts;
extern const DwPaperQuestion dw_question_oiled;
extern const DwPaperQuestion dw_question_set;
extern const DwPaperQuestion dw_question_tested;
extern const DwPaperQuestion dw_question_looked_over;
extern const DwPaperQuestion dw_question_beyond;
extern const DwPaperQuestion dw_question_path_leads; // the guide's questions to a cause
extern const DwPaperQuestion dw_question_proof;
extern const DwPaperQuestion dw_question_todo;
extern const DwPaperQuestion dw_question_measured;
extern const DwPaperQuestion dw_question_compared; // ABOUT is a DwPair
extern const DwPaperQuestion dw_question_doubtful; // ABOUT is a DwReading
extern const DwPaperQuestion dw_question_settings;
extern const DwPaperQuestion dw_question_lines_drawn;  // ABOUT is a DwDrawn
extern const DwPaperQuestion dw_question_shown_before; // ABOUT is a DwShown
extern const DwPaperQuestion dw_question_shown_limit;  // ABOUT is a DwShown
extern const DwPaperQuestion dw_question_check;        // ABOUT is a DwCheckedWith; WORD the state
extern const DwPaperQuestion dw_question_reading;      // ABOUT is a DwHeard; WORD "KEY" or "KEY VERDICT"
extern const DwPaperQuestion dw_question_makers_range; // the same; "the maker's range holds it"
extern const DwPaperQuestion dw_question_class;        // the same; WORD the verdict

// Whether an option of an estimate is above what is usually spent; only where a value is known.
typedef struct {
    bool value_known, dear;
} DwDear;

// How long a deck stood: the day of the letter against the last day without charge, and what a day costs.
typedef struct {
    const char *day, *until;
    int64_t daily, storage;
} DwStay;

// Which charts were drawn: how many, and how many with lines of both phases.
typedef struct {
    size_t drawn, with_both;
} DwDrawn;

// What the numbers of page one show.
typedef struct {
    size_t shown, with_before, with_limit;
} DwShown;

// The state of an instrument in the register; NULL when it has none.
typedef struct {
    const char *state; // "valid", "never", "overdue", "failed"
} DwCheckedWith;

// A reading on page one and where it was taken.
typedef struct {
    const char *key; // that its plain name goes by
    const DwReading *reading;
    const DwSheet *sheet; // NULL when it was noted as a setting
} DwHeard;
// The class by which the reading was judged; "" where its sheet names none.
const char *dw_heard_class(const DwHeard *heard);

#endif
