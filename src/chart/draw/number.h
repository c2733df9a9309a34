// SPDX-License-Identifier: MIT
// Numbers and units as they stand in print: a true minus, a thin space.
#ifndef DW_CHART_NUMBER_H
#define DW_CHART_NUMBER_H

#include "base/sheet.h"

typedef struct {
    char text[48];
} DwNumber;

// VALUE with DIGITS decimals (as few as it needs when negative) and "−" for minus; with SIGNED
// also "+". From ten million on, and where decimals run out, by powers of ten. By a style (below) five figures and more
// before the mark are parted by threes; four stand close, as ISO 80000-1:2009, 7.3.1, leaves free (from memory).
DwNumber dw_number_print(double value, int digits, bool is_signed);

// PLAIN, an amount such as "-1234.50", as it is printed: "−1 234.50" with narrow spaces between thousands
// (ISO 80000-1:2009, 7.3.1, from memory) and the decimal mark. The caller frees it with free().
char *dw_number_amount(const char *plain);

// The decimal mark of every number printed from here on: "." until it is told.
// Call it before any thread prints. Returned: false for a mark that is empty or
// longer than one letter takes.
bool dw_number_set_mark(const char *mark);
const char *dw_number_mark(void);
// The mark of the user's language (LC_NUMERIC). The process itself keeps the C
// locale, in which files and JSON are written.
void dw_number_use_locale(void);

// How numbers stand on what one thread draws, in another language than the program's own.
typedef struct DwNumberStyle {
    const char *mark, *thousands; // the decimal mark, and what stands between thousands
    // What UNIT is called in that language, "" for as it is. With NULL all are as they are.
    const char *(*unit)(const void *context, const char *unit);
    const void *context;
} DwNumberStyle;
// From here on this thread prints by STYLE, which must last as long; by the program's own for NULL.
// Returned: what it printed by before, to be put back (as with uselocale() of POSIX).
const DwNumberStyle *dw_number_use_style(const DwNumberStyle *style);

// Whether READING's number is printed with its sign: its limit reaches below zero.
bool dw_number_signed(const DwReading *reading);
// READING's uncertainty, which it must have, as it is printed behind "±".
DwNumber dw_number_doubt(const DwReading *reading);

// Decimals that show VALUE with three significant digits, two below one.
int dw_number_digits(double value);

// What follows a number: the thin space and the unit ("°" stands close); "" for no unit.
const char *dw_number_space(const char *unit);
const char *dw_number_unit(const char *unit);

#endif
