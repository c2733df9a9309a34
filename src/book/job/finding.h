// SPDX-License-Identifier: MIT
// A finding: what the owner complained of or the bench turned up, whether it was
// confirmed, by which test, and its cause with how sure that is.
#ifndef DW_BOOK_FINDING_H
#define DW_BOOK_FINDING_H

#include "book/store/record.h"

typedef struct {
    DwRecord record;
    int64_t job_id;
    char *symptom;
    int confirmed;
    char *test;
    char *cause;
    int confidence;
    char *action;
    char *after; // as left
} DwFinding;

extern const DwEntity dw_finding_entity;

#endif
