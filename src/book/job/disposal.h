// SPDX-License-Identifier: MIT
// Decks that nobody fetches: what was written to their owners, how long was waited, and what became of them, by the
// terms that the shop has set (storage.notices, storage.wait_days, storage.terms) and its owners have signed: those
// that stood when the deck was taken in. What was made harder for the shop since then counts, what was made easier does
// not. What the local law allows is not known here.
#ifndef DW_BOOK_DISPOSAL_H
#define DW_BOOK_DISPOSAL_H

#include "book/job/job.h"

typedef struct {
    DwRecord record;
    int64_t job_id;
    char *disposed_on;
    int how;
    int64_t amount; // that it brought; DW_AMOUNT_NONE for nothing
    char *witness;
    char *words;
    char *terms; // the shop's, as they stood when the deck was taken in
    char *at;
    char *who;
} DwDisposal;

extern const DwEntity dw_disposal_entity;

// A deck that waits for its owner.
typedef struct {
    int64_t job;
    int64_t number; // of the job
    int64_t notices;
    char last_on[DW_DATE_SIZE]; // the day of the last notice; "" for none
    char free_on[DW_DATE_SIZE]; // from when the terms let it go; "" while something is missing
    char missing[400];          // what is, "" for nothing
} DwAbandoned;

// The terms for decks left behind that stood when the deck of JOB was taken in; "" for none, and without an intake. The
// caller frees them with free().
char *dw_disposal_terms(DwBook *book, int64_t job);
// How it stands with JOB. One that does not wait for its owner is DW_BAD_INPUT.
DwStatus dw_disposal_look(DwBook *book, int64_t job, DwAbandoned *abandoned, DwMessage *message);
// The ids of the jobs whose decks wait for their owners, the longest waiting first: at most MOST of them.
DwStatus dw_disposal_waiting(DwBook *book, int64_t *jobs, size_t most, size_t *count, DwMessage *message);
// Writes down what became of the deck of an initialised DISPOSAL's job, which is then disposed of. What the terms do
// not allow yet is DW_BAD_INPUT and says what is missing.
DwStatus dw_disposal_record(DwBook *book, DwDisposal *disposal, DwMessage *message);

#endif
