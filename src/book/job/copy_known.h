// SPDX-License-Identifier: MIT
// What several takes have told of one copy of a test record: the newest sheet of `pressing` that stands and names it.
#ifndef DW_BOOK_COPY_KNOWN_H
#define DW_BOOK_COPY_KNOWN_H

#include "book/job/measurement.h"

// One value with its ±; NAN where it is not known.
typedef struct {
    double value, off;
} DwCopyValue;

typedef struct {
    char day[DW_DATE_SIZE]; // of the sheet; empty where there is none
    DwCopyValue balance_db; // of its one-sided bands, right over left
    DwCopyValue tone_ppm;   // of its tone over the stated one
} DwCopyKnown;

// What is known of the copy called NAME.
DwStatus dw_copy_known_find(DwBook *book, const char *name, DwCopyKnown *known, DwMessage *message);

#endif
