// SPDX-License-Identifier: MIT
// A deck by its serial, with its owners one after another and what is known of
// it in the words of the catalogue (arm.effective_length …).
#ifndef DW_BOOK_DECK_H
#define DW_BOOK_DECK_H

#include "base/inputs.h"
#include "book/store/record.h"

typedef enum {
    DW_DECK_DRIVE_UNKNOWN,
    DW_DECK_DRIVE_BELT,
    DW_DECK_DRIVE_IDLER,
    DW_DECK_DRIVE_DIRECT,
    DW_DECK_DRIVE_OTHER,
} DwDeckDrive;

typedef enum {
    DW_OPERATION_UNKNOWN,
    DW_OPERATION_MANUAL,
    DW_OPERATION_SEMI,
    DW_OPERATION_AUTOMATIC,
    DW_OPERATION_CHANGER,
} DwDeckOperation;

typedef struct {
    DwRecord record;
    char *make;
    char *model;
    char *variant;
    char *serial;
    int64_t made_year; // 0 when unknown
    int drive;         // DwDeckDrive
    int operation;     // DwDeckOperation
    char *class;       // a word of the quantity deck.class: which limits hold
    char *motor;
    double rated_voltage_v;
    double rated_frequency_hz;
    char *plug;
    char *pulley_marking;
    char *speeds;
    char *supply_as_left;
    char *parts_present; // plinth, cover, hinges, feet, mat, clamp, adaptor, transit screws
    char *lesson;        // what the next technician should know
} DwDeck;

// The class of a deck that was made in YEAR and of which nobody said its class: "vintage" before the first hi-fi
// standard (DIN 45 500, 1966), "" for a later or an unknown year.
const char *dw_deck_class_of_year(int64_t year);

// One owner of a deck; the last without an end owns it now.
typedef struct {
    DwRecord record;
    int64_t deck_id;
    int64_t customer_id;
    char *since;
    char *until;
} DwOwnership;

// One known quantity of a deck, as it was typed.
typedef struct {
    DwRecord record;
    int64_t deck_id;
    char *key;
    char *value;
} DwDeckValue;

extern const DwEntity dw_deck_entity;
extern const DwEntity dw_ownership_entity;
extern const DwEntity dw_deck_value_entity;

// Gives the deck to CUSTOMER from today; the owner before ends today.
DwStatus dw_deck_give(DwBook *book, int64_t deck, int64_t customer, DwMessage *message);
// Who owns the deck now; 0 for nobody known.
DwStatus dw_deck_owner(DwBook *book, int64_t deck, int64_t *customer, DwMessage *message);
// Notes KEY (of the catalogue, an arm's with its name behind: base/arm_key.h) as VALUE, replacing what was noted;
// checked as an operand is.
DwStatus dw_deck_set_value(DwBook *book, int64_t deck, const char *key, const char *value, DwMessage *message);
// Puts all that is noted of the deck and its own arm into INPUTS as its next source.
DwStatus dw_deck_inputs(DwBook *book, int64_t deck, DwInputs *inputs, DwMessage *message);
// The names of the arms or armtubes of DECK that something is kept under: noted, set or measured. One a line, "" for
// none. The caller frees *NAMES with free(), on success.
DwStatus dw_deck_arms(DwBook *book, int64_t deck, char **names, DwMessage *message);

#endif
