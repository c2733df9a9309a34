// SPDX-License-Identifier: MIT
#include "book/store/money.h"

#include "base/memory.h"
#include "base/text.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>

// Products of an amount and a rate do not fit into 64 bits.
__extension__ typedef __int128 Wide;

static int64_t power_of_ten(int digits)
{
    int64_t power = 1;
    for (int i = 0; i < digits; i++)
        power *= 10;
    return power;
}

DwStatus dw_money_read(const char *text, int digits, int64_t *amount, DwMessage *message)
{
    const char *at = text;
    bool negative = *at == '-';
    at += negative;
    int64_t value = 0;
    int decimals = -1, figures = 0; // decimals is -1 until the point is met
    bool more = false;
    for (; *at; at++) {
        if ((*at == '.' || *at == ',') && decimals < 0)
            decimals = 0;
        else if (*at >= '0' && *at <= '9') {
            more |= value >= DW_AMOUNT_MOST;
            value = more ? value : value * 10 + (*at - '0');
            figures++;
            decimals += decimals >= 0;
        } else
            break;
    }
    if (*at || !figures || decimals > digits)
        return dw_fail(message, DW_BAD_INPUT,
                       "\"%s\" is not an amount. Give figures with at most %d decimals and no sign of the currency.",
                       text, digits);
    value *= power_of_ten(digits - (decimals < 0 ? 0 : decimals));
    if (more || value > DW_AMOUNT_MOST)
        return dw_fail(message, DW_BAD_INPUT, "\"%s\" is more than the book can bill.", text);
    *amount = negative ? -value : value;
    return DW_OK;
}

char *dw_money_text(int64_t amount, int digits)
{
    if (amount == DW_AMOUNT_NONE)
        return dw_memory_text("");
    int64_t unit = power_of_ten(digits), size = amount < 0 ? -amount : amount;
    const char *sign = amount < 0 ? "-" : "";
    if (digits == 0)
        return dw_text_format("%s%" PRId64, sign, size);
    return dw_text_format("%s%" PRId64 ".%0*" PRId64, sign, size / unit, digits, size % unit);
}

// NUMERATOR / DENOMINATOR (positive), halves away from zero.
static int64_t divided(Wide numerator, int64_t denominator)
{
    Wide half = denominator / 2;
    return (int64_t)((numerator < 0 ? numerator - half : numerator + half) / denominator);
}

int64_t dw_money_share(int64_t amount, int64_t rate)
{
    return divided((Wide)amount * rate, DW_RATE_WHOLE);
}

// Writes VALUE, or nothing when it is more than is billed.
static bool keep(int64_t value, int64_t *amount)
{
    if (value > DW_AMOUNT_MOST || value < -DW_AMOUNT_MOST)
        return false;
    *amount = value;
    return true;
}

bool dw_money_times(int64_t price, double count, int64_t *amount)
{
    // Counts are held to a millionth, so that 0.1 of something is exactly a tenth. What is far too much does not fit.
    if (!(fabs(count) <= (double)DW_AMOUNT_MOST) || fabs((double)price * count) > 2.0 * (double)DW_AMOUNT_MOST)
        return false;
    return keep(divided((Wide)price * llround(count * DW_RATE_WHOLE), DW_RATE_WHOLE), amount);
}

bool dw_money_labour(int64_t minutes, int64_t rate, int64_t *amount)
{
    if (fabs((double)minutes * (double)rate) > 120.0 * (double)DW_AMOUNT_MOST)
        return false;
    return keep(divided((Wide)minutes * rate, 60), amount);
}
