// SPDX-License-Identifier: MIT
// The values given to a procedure: from a deck file, operands or a form.
#ifndef DW_BASE_INPUTS_H
#define DW_BASE_INPUTS_H

#include "base/quantity.h"

typedef struct DwInputs DwInputs;

// Inputs with nothing given: every quantity at its preset. The caller frees them with dw_inputs_free().
DwInputs *dw_inputs_new(void);
void dw_inputs_free(DwInputs *inputs);

// Starts the next source of values (a deck file, then operands): what it gives
// replaces what an earlier source gave, also for quantities that repeat.
void dw_inputs_begin_source(DwInputs *inputs);
// What is given from now on is from WORDS ("the arm's card"), which live for ever, of DAY ("" for none).
void dw_inputs_name_source(DwInputs *inputs, const char *words, const char *day);
// From what the value of KEY is, and its day; "" when that was not said.
const char *dw_inputs_source(const DwInputs *inputs, const char *key, char day[11]);
// Takes KEY with its value as typed. An unknown key, a bad unit or a value out
// of the possible range is DW_BAD_INPUT with one line; nothing changes then.
DwStatus dw_inputs_set(DwInputs *inputs, const char *key, const char *value, DwMessage *message);
// The same from a source that a person typed: a quantity that does not repeat, given twice by
// one source, is DW_BAD_INPUT with both. One that repeats may be a list: "1.54; 1.51; 1.50".
DwStatus dw_inputs_set_once(DwInputs *inputs, const char *key, const char *value, DwMessage *message);
// The same for a row that was found already; VALUE is as typed.
DwStatus dw_inputs_set_row(DwInputs *inputs, const DwQuantity *row, const char *value, DwMessage *message);
// dw_inputs_set_once() from one word "key=value".
DwStatus dw_inputs_set_operand(DwInputs *inputs, const char *operand, DwMessage *message);

// What there is to say of KEY, which is no quantity's: DW_BAD_INPUT with one line, which names one that is near.
DwStatus dw_inputs_refuse_key(const char *key, DwMessage *message);

// Whether KEY was given (a preset does not count).
bool dw_inputs_given(const DwInputs *inputs, const char *key);
// Whether KEY was given by an earlier source than the present one.
bool dw_inputs_given_before(const DwInputs *inputs, const char *key);
// How many times KEY was given.
size_t dw_inputs_count(const DwInputs *inputs, const char *key);
// The value of KEY in UNIT: given, else preset, else NAN. KEY is a number's, and UNIT
// one of its dimension; anything else is a bad call.
double dw_inputs_in(const DwInputs *inputs, const char *key, const char *unit);
// The same for the INDEXth (0 first) giving of a quantity that repeats; NAN past the last.
double dw_inputs_in_at(const DwInputs *inputs, const char *key, size_t index, const char *unit);
// The INDEXth pair given for KEY, in UNIT and SECOND_UNIT; false past the last.
bool dw_inputs_pair_in(const DwInputs *inputs, const char *key, size_t index, const char *unit, const char *second_unit,
                       double *first, double *second);
// For what goes through all rows alike: the INDEXth giving of ROW, as it was given and in
// ROW's own units (SECOND is NAN unless ROW is a pair); false past the last.
bool dw_inputs_own(const DwInputs *inputs, const DwQuantity *row, size_t index, double *first, double *second);
// The INDEXth giving of ROW as it was typed, or NULL past the last.
const char *dw_inputs_own_typed(const DwInputs *inputs, const DwQuantity *row, size_t index);
// The word or text of KEY: given, else preset, else "". Valid until INPUTS changes.
const char *dw_inputs_word(const DwInputs *inputs, const char *key);
// KEY as it was typed (the first giving), or NULL when it was not given.
const char *dw_inputs_typed(const DwInputs *inputs, const char *key);

#endif
