// SPDX-License-Identifier: MIT
// A deck may carry more than one arm, or one arm more than one armtube. What is kept of one of them by its name is
// kept under a key with that name behind it: "arm.overhang@rear". A key without one is the deck's own arm's.
#ifndef DW_BASE_ARM_KEY_H
#define DW_BASE_ARM_KEY_H

#include "base/quantity.h"

// Whether the quantity KEY is an arm's: its dimensions, cartridge, leads and settings, not the deck's or the record's.
bool dw_arm_key_is_arms(const char *key);
// The name behind KEY, "" without one. Valid as long as KEY.
const char *dw_arm_key_name(const char *key);
// KEY without the name. The caller frees it with free().
char *dw_arm_key_plain(const char *key);
// KEY with the name ARM behind it, as it is where ARM is "" or KEY is no arm's. The caller frees it with free().
char *dw_arm_key_join(const char *key, const char *arm);
// Whether KEY is kept of the arm called ARM ("" for the deck's own): names are alike whatever their case.
bool dw_arm_key_belongs(const char *key, const char *arm);
// The row of the catalogue that KEY stands for, with or without a name; NULL for none.
const DwQuantity *dw_arm_key_quantity(const char *key);
// The key that WORDS stand for: a key already, or a label as dw_arm_key_label() makes it, whatever its case; WORDS
// themselves where they are neither. The caller frees it with free().
char *dw_arm_key_of_words(const char *words);
// LABEL with the name ARM behind it, "Overhang (rear)"; LABEL alone where ARM is "". The caller frees it with free().
char *dw_arm_key_label(const char *label, const char *arm);
// A name that no key can carry is DW_BAD_INPUT with one line.
DwStatus dw_arm_key_check_name(const char *arm, DwMessage *message);
// The same for the name behind KEY; a name behind what is no arm's is refused too. KEY without one is DW_OK.
DwStatus dw_arm_key_check(const char *key, DwMessage *message);

#endif
