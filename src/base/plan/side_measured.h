// SPDX-License-Identifier: MIT
// What the readings of a side are called by the bands that they are measured on.
#ifndef DW_BASE_SIDE_MEASURED_H
#define DW_BASE_SIDE_MEASURED_H

#include <stdbool.h>
#include <stddef.h>

// "speed", "arm resonance" … for the reading called KEY; NULL for one of the side as a whole.
const char *dw_side_measured_word(const char *key);
// Whether LIST, "speed, channels" (NULL: nothing), holds WORD.
bool dw_side_measured_lists(const char *list, const char *word);
// The INDEXth of these words, NULL past the last.
const char *dw_side_measured_at(size_t index);

#endif
