// SPDX-License-Identifier: MIT
// The library of models: what is known of a make and model of deck, whoever's deck it was. A deck belongs to the model
// of its make and model, whatever the case of their letters. What the decks in the book told is worked out from them
// each time (known.h); here stands what the shop wrote down itself, and what other shops shared (share.h).
#ifndef DW_BOOK_MODEL_H
#define DW_BOOK_MODEL_H

#include "book/store/record.h"

typedef struct {
    DwRecord record;
    char *make;
    char *name;
    int drive;   // DwDeckDrive
    char *class; // a word of the quantity deck.class
    char *motor;
    char *speeds;
    char *arm;
    char *note;
} DwModel;

typedef enum {
    DW_MODEL_BUILD,   // a quantity of the catalogue: how it is built
    DW_MODEL_READING, // what such decks measure as they leave
} DwModelAbout;

#define DW_MODEL_ABOUT_WORDS "build|reading"

typedef struct {
    DwRecord record;
    int64_t model_id;
    int about; // DwModelAbout
    char *key; // of the quantity, or of the reading
    char *label;
    char *value;      // as it would be typed
    int64_t decks;    // on how many it was measured; 0 when it was read somewhere
    double low, high; // among them, in `unit`
    char *unit;
    char *source;    // "service manual", "measured"
    char *shared_by; // the shop it came from; "" for this one
} DwModelValue;

typedef struct {
    DwRecord record;
    int64_t model_id;
    char *fault;
    char *remedy;
    int64_t seen; // on how many decks
    char *shared_by;
} DwModelFault;

extern const DwEntity dw_model_entity;
extern const DwEntity dw_model_value_entity;
extern const DwEntity dw_model_fault_entity;

// The model of MAKE called NAME; *ID is 0 when the library has none. Either may be NULL.
DwStatus dw_model_find(DwBook *book, const char *make, const char *name, int64_t *id, DwMessage *message);
// The model of DECK in the same way.
DwStatus dw_model_of_deck(DwBook *book, int64_t deck, int64_t *id, DwMessage *message);

// The shop's own limits for MODEL, the newest for each reading. The caller frees them with dw_records_clear().
DwStatus dw_model_limits(DwBook *book, int64_t model, DwRecords *bounds, DwMessage *message);

// Whether the quantity KEY belongs to a model and not to one deck alone (how it is set, what it plays).
bool dw_model_has(const char *key);
// The keys one after another; NULL past the last.
const char *dw_model_key(size_t index);
// Keeps a quantity or reading of a model. A key that is none of a model's and a value that
// cannot be one of it are DW_BAD_INPUT.
DwStatus dw_model_value_keep(DwBook *book, DwModelValue *value, DwMessage *message);
// Notes the quantity KEY of MODEL as VALUE by SOURCE, replacing what the shop had noted.
DwStatus dw_model_note(DwBook *book, int64_t model, const char *key, const char *value, const char *source,
                       DwMessage *message);

#endif
