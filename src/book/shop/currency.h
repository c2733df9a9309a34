// SPDX-License-Identifier: MIT
// Currencies by their codes of ISO 4217, each with the decimals of its minor unit.
#ifndef DW_BOOK_CURRENCY_H
#define DW_BOOK_CURRENCY_H

#include <stdbool.h>

// Whether TEXT has the form of a code: three capital letters.
bool dw_currency_is_code(const char *text);
// The decimals of the currency with the code CODE, 0 to 4; -1 where ISO 4217 has no such currency.
int dw_currency_digits(const char *code);

#endif
