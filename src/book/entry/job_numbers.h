// SPDX-License-Identifier: MIT
// A job in a few numbers: what a station that is folded to one line says of it.
// Nothing large is read for it, no sheet and no picture.
#ifndef DW_BOOK_JOB_NUMBERS_H
#define DW_BOOK_JOB_NUMBERS_H

#include "book/job/job.h"

enum { DW_JOB_NUMBERS_MOST = 3 };

// One reading as it was taken; with a word in place of a number.
typedef struct {
    char *label, *word, *unit;
    double value;
    int64_t digits;
    bool error; // its sign says which way
} DwJobNumber;

typedef struct {
    DwJobNumber readings[DW_JOB_NUMBERS_MOST];
    size_t count;
} DwJobNumberRow;

typedef struct {
    int64_t accessories, marks, photos;
    DwJobNumberRow received, left; // of the newest sheets
    char *found;                   // the first causes or symptoms, "belt stretched, bearing dry"
    char *judged;                  // items that were judged for safe use
    int64_t findings, verdicts;
    int64_t operations, operations_open;
    char *next_operation; // the first that is not done, "" for none
    int64_t next_operation_id;
    int64_t settings;                    // settings noted as left
    int64_t estimate_id, estimate_lines; // of the newest version
    int64_t invoice_id;                  // the newest, 0 for none
    bool invoice_draft;
    int64_t repeat_id; // the oldest measurement as received that nothing as left answers yet, 0 for none
    char *repeat_title, *repeat_procedure, *repeat_record, *repeat_chain, *repeat_at;
} DwJobNumbers;

// The numbers of JOB. Clear them in the end.
DwStatus dw_job_numbers_read(DwBook *book, int64_t job, DwJobNumbers *numbers, DwMessage *message);
void dw_job_numbers_clear(DwJobNumbers *numbers);

#endif
