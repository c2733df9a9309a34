// SPDX-License-Identifier: MIT
// How a deck was found set and how it was left: one row for each time a setting
// was looked at or moved. Rows are only added; the latest of a setting counts,
// the ones before are its history.
#ifndef DW_BOOK_SET_UP_H
#define DW_BOOK_SET_UP_H

#include "book/store/record.h"
#include "book/store/words.h"

typedef struct {
    DwRecord record;
    int64_t job_id;
    int phase;   // DwPhase
    char *key;   // of the catalogue (arm.overhang …) or one of the shop's own
    char *label; // the catalogue's where it is not given
    char *value; // as typed
    char *unit;
    char *instrument; // by its name in the register, or as typed
    char *method;
    char *remark;
    char *at;
    char *who;
} DwSetUp;

extern const DwEntity dw_set_up_entity;

// Adds an initialised SET_UP with its job, phase, key and value; time and author
// are the book's. A key of the catalogue gives label and unit, and its value is
// checked as an operand is; another key needs a label.
DwStatus dw_set_up_note(DwBook *book, DwSetUp *set_up, DwMessage *message);
// The latest row of each setting of JOB at PHASE, in the order in which the
// settings first came. The caller frees them with dw_records_clear().
DwStatus dw_set_up_standing(DwBook *book, int64_t job, DwPhase phase, DwRecords *set_ups, DwMessage *message);
// The row of KEY among SET_UPS, or NULL. Valid as long as they are.
const DwSetUp *dw_set_up_find(const DwRecords *set_ups, const char *key);

#endif
