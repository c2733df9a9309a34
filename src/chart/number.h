// SPDX-License-Identifier: MIT
// Numbers and units as they stand in print: a true minus, a thin space.
#ifndef DW_CHART_NUMBER_H
#define DW_CHART_NUMBER_H

#include "base/sheet.h"

typedef struct {
    char text[48];
} DwNumber;

// VALUE with DIGITS decimals (as few as it needs when negative) and "−" for minus; with SIGNED
// also "+". From ten million on, and where decimals run out, by powers of ten.
DwNumber dw_number_print(double value, int digits, bool is_signed);

// Decimals that show VALUE with three significant digits, two below one.
int dw_number_digits(double value);

// What follows a number: the thin space and the unit ("°" stands close); "" for no unit.
const char *dw_number_space(const char *unit);
const char *dw_number_unit(const char *unit);

#endif
