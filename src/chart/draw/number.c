// SPDX-License-Identifier: MIT
#include "chart/draw/number.h"

#include "base/text.h"
#include "base/tongue.h"
#include "base/unit.h"

#include <langinfo.h>
#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

// Set once, before any thread prints.
static char decimal_mark[8] = ".";

static _Thread_local const DwNumberStyle *style_of_thread;

const DwNumberStyle *dw_number_use_style(const DwNumberStyle *style)
{
    const DwNumberStyle *before = style_of_thread;
    style_of_thread = style;
    return before;
}

bool dw_number_set_mark(const char *mark)
{
    bool fits = *mark && strlen(mark) < sizeof decimal_mark;
    if (fits)
        strcpy(decimal_mark, mark);
    return fits;
}

const char *dw_number_mark(void)
{
    return style_of_thread ? style_of_thread->mark : decimal_mark;
}

void dw_number_use_locale(void)
{
    locale_t user = newlocale(LC_NUMERIC_MASK, "", (locale_t)0);
    if (!user)
        return;
    dw_number_set_mark(nl_langinfo_l(RADIXCHAR, user));
    freelocale(user);
}

// The first WHOLE of DIGITS, parted by threes.
static void add_parted(DwText *text, const char *digits, size_t whole, const char *between)
{
    for (size_t i = 0; i < whole; i++)
        dw_text_add(text, "%s%c", i > 0 && (whole - i) % 3 == 0 ? between : "", digits[i]);
}

DwNumber dw_number_print(double value, int digits, bool is_signed)
{
    char plain[40];
    if (!isfinite(value))
        return (DwNumber){"–"};
    double size = fabs(value);
    if (size >= 1e7 || digits > 9 || (digits < 0 && size > 0 && size < 1e-5))
        snprintf(plain, sizeof plain, "%.3g", value);
    else if (digits < 0)
        snprintf(plain, sizeof plain, "%.7g", value);
    else
        dw_text_decimal(plain, sizeof plain, value, digits);
    DwNumber number;
    bool is_zero = strspn(plain, "0.") == strlen(plain);
    const char *sign = plain[0] == '-' ? "−" : is_signed && !is_zero ? "+" : "";
    const char *size_text = plain + (plain[0] == '-');
    size_t whole = strcspn(size_text, ".");
    bool parted = size_text[whole] == '.', on_paper = style_of_thread && strspn(size_text, "0123456789") == whole;
    DwText figures = {0};
    add_parted(&figures, size_text, whole, on_paper && whole > 4 ? style_of_thread->thousands : "");
    snprintf(number.text, sizeof number.text, "%s%s%s%s", sign, figures.length ? figures.chars : "",
             parted ? dw_number_mark() : "", size_text + whole + parted);
    dw_text_clear(&figures);
    return number;
}

char *dw_number_amount(const char *plain)
{
    bool negative = plain[0] == '-';
    const char *digits = plain + negative;
    size_t whole = strcspn(digits, ".");
    const char *between = style_of_thread ? style_of_thread->thousands : "\u202f";
    DwText text = {0};
    dw_text_add(&text, "%s", negative ? "−" : "");
    add_parted(&text, digits, whole, between);
    if (digits[whole])
        dw_text_add(&text, "%s%s", dw_number_mark(), digits + whole + 1);
    return dw_text_take(&text);
}

bool dw_number_signed(const DwReading *reading)
{
    return reading->limit && reading->limit->low < 0;
}

int dw_number_digits(double value)
{
    double size = fabs(value);
    if (!isfinite(size) || size == 0)
        return 0;
    double decade = floor(log10(size));
    if (decade < -9)
        return 10;
    int digits = decade < 0 ? 1 - (int)decade : 2 - (int)fmin(decade, 2);
    return digits;
}

const char *dw_number_unit(const char *unit)
{
    const DwNumberStyle *style = style_of_thread;
    const char *called = style && style->unit && *unit ? style->unit(style->context, unit) : "";
    return *called ? called : dw_said_unit(dw_unit_sign(unit));
}

const char *dw_number_space(const char *unit)
{
    return unit[0] && strcmp(dw_number_unit(unit), "°") != 0 ? "\u202f" : "";
}
