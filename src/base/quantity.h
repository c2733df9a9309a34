// SPDX-License-Identifier: MIT
// What a technician can state about a deck, a record, an arm …: one catalogue
// for the whole program. The command line's operands, the keys of a deck file
// and the fields of the web's forms are all made from these rows.
#ifndef DW_BASE_QUANTITY_H
#define DW_BASE_QUANTITY_H

#include "base/unit.h"

#include <stdbool.h>

typedef enum {
    DW_QUANTITY_NUMBER, // a value with a unit
    DW_QUANTITY_CHOICE, // one word of a list
    DW_QUANTITY_TEXT,   // free words (a name, a number on a label)
    DW_QUANTITY_PAIR,   // two values "A:B", such as a radius and an angle
} DwQuantityKind;

// The inclusive bounds of a value, in the quantity's unit.
typedef struct {
    double low, high;
} DwRange;

// One row of the catalogue. Values are held in `unit`, whatever unit was typed.
typedef struct {
    const char *key; // "section.name"
    const char *label;
    const char *help; // how it is measured or where it is read, one sentence
    DwQuantityKind kind;
    DwDimension dimension; // of the number, or of a pair's first value
    const char *unit;
    DwDimension second_dimension; // of a pair's second value
    const char *second_unit;
    DwRange second_plausible, second_possible;
    const char *choices; // "iec din jis": words separated by single spaces
    const char *preset;  // what stands when nothing is given, as typed; NULL for none
    DwRange plausible;   // outside it: a remark. {0, 0}: no such range
    DwRange possible;    // outside it: refused. {0, 0}: no such range
    bool repeats;        // may be given several times
    int digits;          // decimals worth showing
} DwQuantity;

// The row called KEY, or NULL.
const DwQuantity *dw_quantity_find(const char *key);
// The preset of ROW in its own unit, NAN where it has none; SECOND is a pair's, and may be NULL.
double dw_quantity_preset(const DwQuantity *row, double *second);
// All rows one after another, section by section; NULL past the last.
const DwQuantity *dw_quantity_at(size_t index);
// The key nearest to a misspelt KEY, or NULL when nothing is near.
const DwQuantity *dw_quantity_near(const char *key);

// The first quantity that TEXT names by its key at or after FROM, which lies in it: *KEY is where, of *LENGTH bytes.
// NULL for none.
const DwQuantity *dw_quantity_in(const char *text, const char *from, const char **key, size_t *length);

// TEXT as a person reads it: each key of the catalogue in it by its label, in quotation marks ("State “Tone”" for
// "State record.tone"; a value that follows the key, "=3150Hz", follows as " 3150Hz", and a choice in the reader's
// language). The caller frees it with free().
char *dw_quantity_words(const char *text);
// The choice of QUANTITY that begins at AT, in words of the catalogue, and its *LENGTH there; NULL for none. The caller
// frees it with free().
char *dw_quantity_choice_at(const DwQuantity *quantity, const char *at, size_t *length);

// Reads TEXT ("222mm", "8.7 in", "33 1/3 rpm"; a bare number is in the
// quantity's own unit) as a value of QUANTITY, in its unit, and checks the
// possible range. SECOND is written for a pair only and may be NULL otherwise.
DwStatus dw_quantity_read(const DwQuantity *quantity, const char *text, double *value, double *second,
                          DwMessage *message);
// Whether WORD is one of the choices of QUANTITY.
bool dw_quantity_has_choice(const DwQuantity *quantity, const char *word);
// Whether RANGE bounds anything.
bool dw_range_is_set(DwRange range);

#endif
