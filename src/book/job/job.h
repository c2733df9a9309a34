// SPDX-License-Identifier: MIT
// A job: one deck's stay in the shop, what it waits for and since when, and
// when its owner was last told.
#ifndef DW_BOOK_JOB_H
#define DW_BOOK_JOB_H

#include "book/shop/customer.h"
#include "book/store/words.h"

typedef enum {
    DW_JOB_BOOKED,
    DW_JOB_RECEIVED,
    DW_JOB_MEASURING,
    DW_JOB_ESTIMATING,
    DW_JOB_WAITING_APPROVAL,
    DW_JOB_WAITING_PART,
    DW_JOB_WAITING_SOAK,
    DW_JOB_ON_BENCH,
    DW_JOB_VERIFYING,
    DW_JOB_READY,
    DW_JOB_HANDED_OVER,
    DW_JOB_DECLINED,
    DW_JOB_DISPOSED, // by disposal.h alone
} DwJobState;

#define DW_JOB_STATE_WORDS                                                                                             \
    "booked|received|measuring|estimating|waiting for approval|waiting for part|waiting for soak|on the bench|"        \
    "verifying|ready|handed over|declined|disposed of"

typedef struct {
    DwRecord record;
    int64_t number; // what the label says; the book counts it
    int64_t customer_id;
    int64_t deck_id;
    int64_t warranty_of_id; // the job this one returns from, or 0
    int64_t came_with_id;   // the first job of those that came in together, of another than itself, or 0
    int kind;
    int priority;
    int state;          // DwJobState, moved by dw_job_move()
    char *waiting_for;  // which part, whose answer …
    char *state_since;  // a moment
    char *opened_at;    // a moment
    char *place;        // where the deck stands
    char *screws_place; // and where its screws are
    char *promised_on;
    char *owner_told_at; // a moment, by dw_job_tell()
    char *technician;
    char *fault;    // in the shop's words, one line
    char *not_done; // what was not done and why
    char *advice;
    char *next_due_on;
} DwJob;

// One stay in one state, for "you had it six weeks". Written by dw_job_move().
typedef struct {
    DwRecord record;
    int64_t job_id;
    int state; // DwJobState
    char *waiting_for;
    char *note;
    char *at;
    char *who;
} DwStage;

// One time that the owner was told something.
typedef struct {
    DwRecord record;
    int64_t job_id;
    char *at;
    char *who;
    int how; // DwRoute
    char *words;
} DwContact;

extern const DwEntity dw_job_entity;
extern const DwEntity dw_stage_entity;
extern const DwEntity dw_contact_entity;

// Adds an initialised JOB whose customer (and deck, when it is known) are set:
// gives it the next number and the state booked.
DwStatus dw_job_open(DwBook *book, DwJob *job, DwMessage *message);
// The job called NUMBER ("42", "0042") into an initialised record.
DwStatus dw_job_find(DwBook *book, const char *number, DwJob *job, DwMessage *message);
// Moves the job. WAITING_FOR says for what it now waits ("" for nothing). A job
// with an unsafe item that nobody acknowledged (verdict.h) does not become
// ready or handed over: DW_BAD_INPUT names the item. A deck that left is not made
// ready, and one that was disposed of (disposal.h) stays gone.
DwStatus dw_job_move(DwBook *book, int64_t job, DwJobState state, const char *waiting_for, const char *note,
                     DwMessage *message);
// *REOPENED: whether moving JOB to STATE takes it up again after it was handed over.
DwStatus dw_job_is_reopened(DwBook *book, int64_t job, DwJobState state, bool *reopened, DwMessage *message);
// Notes that the owner was told WORDS.
DwStatus dw_job_tell(DwBook *book, int64_t job, DwRoute how, const char *words, DwMessage *message);
// Whether a deck in STATE stands there for its owner to fetch it.
bool dw_job_waits_for_owner(DwJobState state);
// The words of STATE. Valid for ever.
const char *dw_job_state_word(DwJobState state);

#endif
