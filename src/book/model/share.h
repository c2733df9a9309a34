// SPDX-License-Identifier: MIT
// A model as a key file, for another shop: what this shop wrote down and what its decks told, with how many there were
// and between which values. No deck, serial, job or customer stands in it. Nor does what other shops shared: each
// shares its own.
//
//     [model]                      format, make, name, drive …, shop, book
//     [build drive.pulley_diameter]  value, decks, low, high, unit, source
//     [reading speed.error]        the same, and a label
//     [fault 1]                    fault, remedy, seen
//     [limit wow.weighted]         low, high, good_low, good_high, source
//
// A value longer than a line goes on in the next line of the same key, each but the last ending in '\'.
#ifndef DW_BOOK_MODEL_SHARE_H
#define DW_BOOK_MODEL_SHARE_H

#include "base/keyfile.h"
#include "book/model/model.h"

enum { DW_SHARE_FORMAT = 1 };

// MODEL as such a file. The caller frees *TEXT with free().
DwStatus dw_share_write(DwBook *book, int64_t model, char **text, DwMessage *message);

typedef struct {
    int64_t model;
    bool added; // the library had none of that name
    size_t builds, readings, faults, limits;
    size_t limits_left; // the shop has limits of its own there, which stay
} DwShareTaken;

// Takes FILE into the library, whole or not at all: a new model, or beside what is
// there. What an earlier file of the same shop said is replaced; what this shop wrote
// down itself stays as it is, and so does a limit that the model has here. NAME stands for the file in messages. A file
// of this very book, and one that is wrong anywhere, is DW_BAD_INPUT.
DwStatus dw_share_read(DwBook *book, const DwKeyfile *file, const char *name, DwShareTaken *taken, DwMessage *message);

// Tells this book from others in such files, and no more than that. The caller frees it with free().
char *dw_share_mark(DwBook *book);

#endif
