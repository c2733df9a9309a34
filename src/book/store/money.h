// SPDX-License-Identifier: MIT
// Amounts of money: whole minor units (pence, cents), never a double.
#ifndef DW_BOOK_MONEY_H
#define DW_BOOK_MONEY_H

#include "base/status.h"

#include <stdbool.h>
#include <stdint.h>

// Stands where no amount was given; zero is an amount.
#define DW_AMOUNT_NONE INT64_MIN

// The largest amount that is billed: no bill comes near it, and sums of many such amounts still fit.
#define DW_AMOUNT_MOST INT64_C(1000000000000)

// A rate is counted in millionths: 20 % is 200000.
enum { DW_RATE_WHOLE = 1000000 };

// Reads "1234.5" or "1234,50" in a currency with DIGITS decimals (0 to 4).
// More decimals than the currency has, or anything else, is DW_BAD_INPUT.
DwStatus dw_money_read(const char *text, int digits, int64_t *amount, DwMessage *message);
// AMOUNT as "1234.50"; "" for none. The caller frees it with free().
char *dw_money_text(int64_t amount, int digits);
// The share RATE of AMOUNT, halves rounded away from zero, as tax is rounded on a bill.
int64_t dw_money_share(int64_t amount, int64_t rate);
// COUNT of things at PRICE each, halves rounded away from zero. False, and nothing written, above DW_AMOUNT_MOST.
bool dw_money_times(int64_t price, double count, int64_t *amount);
// MINUTES at RATE for an hour, in the same way.
bool dw_money_labour(int64_t minutes, int64_t rate, int64_t *amount);

#endif
