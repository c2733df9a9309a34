// SPDX-License-Identifier: MIT
// How one copy of a test record has fared: what the kept measurements of it read, oldest first.
#ifndef DW_BOOK_COPY_WEAR_H
#define DW_BOOK_COPY_WEAR_H

#include "book/job/measurement.h"

enum { DW_COPY_WEAR_DECK = 120 };

// One kept measurement of it; NAN where it did not read that.
typedef struct {
    int64_t measurement;
    char day[DW_DATE_SIZE];
    char deck[DW_COPY_WEAR_DECK]; // make and model, which a comparison over the years wants alike
    double treble_db[2];          // left, right at 10 kHz over 1 kHz
    double hiss_db, ticks;
} DwCopyWear;

// The measurements that stand of the copy called NAME in the register. The caller frees *WEAR with free().
DwStatus dw_copy_wear_list(DwBook *book, const char *name, DwCopyWear **wear, size_t *count, DwMessage *message);

// How far CHANNEL's 10 kHz has fallen from the first to the last of COUNT measurements on one deck, the longest such
// span [dB]; NAN without two. *FIRST and *LAST say which.
double dw_copy_wear_fall_db(const DwCopyWear *wear, size_t count, size_t channel, size_t *first, size_t *last);

#endif
