// SPDX-License-Identifier: MIT
// The limits that the shop itself has set for a class of deck or one model, each
// with who says so. They stand before the limits the program brings along.
#ifndef DW_BOOK_BOUND_H
#define DW_BOOK_BOUND_H

#include "base/sheet.h"
#include "book/store/record.h"

typedef struct {
    DwRecord record;
    char *class; // a word of deck.class, or "" with a model
    char *make;
    char *model;
    char *key; // of the reading
    double low, high;
    double good_low, good_high;
    char *source;
} DwBound;

extern const DwEntity dw_bound_entity;

// The limits for readings called KEY on a deck of MAKE, MODEL and CLASS: the
// model's own, else the class's. False when the shop has set none. On success
// with *FOUND the caller frees limit->source with free().
DwStatus dw_bound_find(DwBook *book, const char *class, const char *make, const char *model, const char *key,
                       bool *found, DwLimit *limit, DwMessage *message);
// Puts the shop's limits on each reading of SHEET that has some and derives its verdict anew.
DwStatus dw_bound_apply(DwBook *book, const char *class, const char *make, const char *model, DwSheet *sheet,
                        DwMessage *message);

#endif
