// SPDX-License-Identifier: MIT
// What is known of a model, best first: what the shop wrote down, what its own decks
// told (worked out from the book each time, so that it is never older than they are),
// what other shops shared.
#ifndef DW_BOOK_MODEL_KNOWN_H
#define DW_BOOK_MODEL_KNOWN_H

#include "base/tongue.h"
#include "book/model/model.h"

typedef enum {
    DW_MODEL_STATED,
    DW_MODEL_MEASURED,
    DW_MODEL_SHARED,
} DwModelOrigin;

typedef struct {
    DwModelOrigin origin;
    DwModelAbout about;
    char *key;
    char *label;
    char *value;      // as it would be typed: a median, or the word that most decks have
    size_t decks;     // it was found on; 0 when it was read somewhere
    double low, high; // among them, in `unit`; NAN where it is a word
    char *unit;
    char *source;
    char *shared_by;
} DwModelKnown;

typedef struct {
    DwModelKnown *items;
    size_t count;
} DwModelKnowns;

// All that is known of MODEL. The caller frees it with dw_model_knowns_clear().
DwStatus dw_model_known_read(DwBook *book, int64_t model, DwModelKnowns *knowns, DwMessage *message);
void dw_model_knowns_clear(DwModelKnowns *knowns);
// The best known build KEY, or NULL.
const DwModelKnown *dw_model_known_best(const DwModelKnowns *knowns, const char *key);
// Where it came from in words of TONGUE, NULL for English: "median of 4 decks, 12.0 to 12.1 mm". The caller frees it
// with free().
char *dw_model_known_origin(const DwModelKnown *known, const DwTongue *tongue);
// How many decks of the book are of MODEL.
DwStatus dw_model_decks(DwBook *book, int64_t model, int64_t *count, DwMessage *message);
// How many others in the book are of the make and model of DECK; 0 when it has no model.
DwStatus dw_model_others(DwBook *book, int64_t deck, int64_t *count, DwMessage *message);

#endif
