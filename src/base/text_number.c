// SPDX-License-Identifier: MIT
#include "base/text.h"
#include "base/tongue.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { DIGITS_MOST = 40, RUNS_MOST = 16 };

// The vulgar fractions a technician's keyboard may offer.
static const struct {
    const char *sign;
    double value;
} vulgar_fractions[] = {
    {"⅓", 1.0 / 3.0}, {"⅔", 2.0 / 3.0}, {"¼", 0.25}, {"½", 0.5}, {"¾", 0.75}, {"⅛", 0.125},
};

// What may stand between the digits of a number. Only the first two can be a decimal mark.
static const char *const marks[] = {".", ",", " ", "\u00a0", "\u202f", "\u2009", "'", "’"};
enum { MARK_POINT, MARK_COMMA, MARK_COUNT = sizeof marks / sizeof *marks };

// Digits with the marks between them: run 0, mark 0, run 1 …
typedef struct {
    char digits[DIGITS_MOST + 1];
    size_t length;
    size_t run[RUNS_MOST]; // how many digits
    int mark[RUNS_MOST];   // behind each run but the last
    size_t count;          // of runs
} Figures;

static const char *read_fraction(const char *text, double *value)
{
    for (size_t i = 0; i < sizeof vulgar_fractions / sizeof *vulgar_fractions; i++) {
        size_t length = strlen(vulgar_fractions[i].sign);
        if (strncmp(text, vulgar_fractions[i].sign, length) == 0) {
            *value = vulgar_fractions[i].value;
            return text + length;
        }
    }
    const char *at = text;
    while (*at == ' ')
        at++;
    unsigned top = 0, bottom = 0;
    int used = 0;
    if (at > text && isdigit((unsigned char)*at) && sscanf(at, "%3u/%3u%n", &top, &bottom, &used) == 2 && bottom > 0) {
        *value = (double)top / bottom;
        return at + used;
    }
    return NULL;
}

static size_t count_digits(const char *text)
{
    return strspn(text, "0123456789");
}

static int mark_at(const char *text)
{
    for (int i = 0; i < MARK_COUNT; i++)
        if (strncmp(text, marks[i], strlen(marks[i])) == 0)
            return i;
    return -1;
}

// Whether MARK, with REST behind it, goes on with the number that FIGURES begin.
static bool goes_on(const Figures *figures, int mark, const char *rest, bool in_list)
{
    size_t here = count_digits(rest), last = figures->run[figures->count - 1];
    bool first = figures->count == 1;
    if (mark == MARK_POINT || mark == MARK_COMMA)
        return here > 0 || (first && last > 0); // "12." is a number
    if (in_list || here != 3 || rest[3] == '/' || last == 0 || last > 3)
        return false;
    return first || figures->mark[figures->count - 2] == mark;
}

static const char *read_figures(const char *text, bool in_list, Figures *figures)
{
    *figures = (Figures){0};
    for (;;) {
        size_t here = count_digits(text);
        if (figures->length + here > DIGITS_MOST || figures->count == RUNS_MOST)
            return NULL;
        memcpy(figures->digits + figures->length, text, here);
        figures->length += here;
        figures->run[figures->count++] = here;
        text += here;
        int mark = mark_at(text);
        if (mark < 0 || !goes_on(figures, mark, text + strlen(marks[mark]), in_list))
            return text;
        figures->mark[figures->count - 1] = mark;
        text += strlen(marks[mark]);
    }
}

// Whether the first COUNT runs are thousands: 1 to 3 digits, then threes, all behind one mark.
static bool are_groups(const Figures *figures, size_t count)
{
    if (figures->run[0] < 1 || figures->run[0] > 3 || (count > 1 && figures->digits[0] == '0'))
        return false;
    for (size_t i = 1; i < count; i++)
        if (figures->run[i] != 3 || figures->mark[i - 1] != figures->mark[0])
            return false;
    return true;
}

// How many of the digits stand behind the decimal mark, or -1 where the marks make no number.
static int count_decimals(const Figures *figures, bool in_list)
{
    if (figures->count == 1)
        return 0;
    int last = figures->mark[figures->count - 2];
    if (figures->count == 2 && (last == MARK_POINT || last == MARK_COMMA))
        return (int)figures->run[1];
    if (in_list)
        return -1;
    if (are_groups(figures, figures->count))
        return 0;
    bool other = last != figures->mark[0] && (last == MARK_POINT || last == MARK_COMMA);
    return other && are_groups(figures, figures->count - 1) ? (int)figures->run[figures->count - 1] : -1;
}

static bool is_exponent(const char *text)
{
    return (*text == 'e' || *text == 'E') &&
           (isdigit((unsigned char)text[1]) || ((text[1] == '+' || text[1] == '-') && isdigit((unsigned char)text[2])));
}

// The number that DIGITS with DECIMALS of them behind the point make, times ten to the EXPONENT.
static double number_of(const Figures *figures, int decimals, long exponent)
{
    char text[DIGITS_MOST + 32];
    snprintf(text, sizeof text, "%se%ld", figures->digits, exponent - decimals);
    return strtod(text, NULL);
}

static const char *read_sign(const char *text, bool *negative)
{
    while (*text == ' ')
        text++;
    static const char minus[] = "−";
    bool typographic = strncmp(text, minus, strlen(minus)) == 0;
    *negative = *text == '-' || typographic;
    return typographic ? text + strlen(minus) : text + (*text == '+' || *text == '-');
}

static const char *read_exponent(const char *text, long *exponent)
{
    char digits[8] = "";
    size_t length = 1 + (text[1] == '+' || text[1] == '-');
    length += count_digits(text + length);
    if (length - 1 >= sizeof digits)
        return NULL;
    memcpy(digits, text + 1, length - 1);
    *exponent = strtol(digits, NULL, 10);
    return text + length;
}

static const char *parse(const char *text, bool in_list, DwTextNumber *number)
{
    bool negative;
    Figures figures;
    const char *start = read_sign(text, &negative), *at = read_figures(start, in_list, &figures);
    int decimals = at ? count_decimals(&figures, in_list) : -1;
    if (decimals < 0)
        return NULL;
    double fraction = 0;
    const char *after = read_fraction(at, &fraction);
    if (!figures.length && !(at == start && after && *at != ' '))
        return NULL;
    long exponent = 0;
    if (is_exponent(at)) {
        at = read_exponent(at, &exponent);
        fraction = 0;
    } else if (after)
        at = after;
    double sign = negative ? -1 : 1;
    DwTextNumber read = {.value = sign * ((figures.length ? number_of(&figures, decimals, exponent) : 0) + fraction),
                         .grouped = NAN,
                         .decimals = decimals};
    if (figures.count == 2 && decimals == 3 && are_groups(&figures, 2)) {
        read.mark = *marks[figures.mark[0]];
        read.grouped = sign * (number_of(&figures, 0, exponent) + fraction);
    }
    if (!at || !isfinite(read.value) || (read.mark && !isfinite(read.grouped)))
        return NULL;
    *number = read;
    return at;
}

const char *dw_text_number_parse(const char *text, DwTextNumber *number)
{
    return parse(text, false, number);
}

static const char *read_clear(const char *text, bool in_list, double *value)
{
    DwTextNumber number;
    const char *after = parse(text, in_list, &number);
    if (!after || number.mark == ',')
        return NULL;
    *value = number.value;
    return after;
}

const char *dw_text_number(const char *text, double *value)
{
    return read_clear(text, false, value);
}

const char *dw_text_number_in_list(const char *text, double *value)
{
    return read_clear(text, true, value);
}

char *dw_text_number_doubt(const char *text, const DwTextNumber *number)
{
    bool negative;
    const char *start = read_sign(text, &negative), *mark = strchr(start, number->mark);
    int whole = (int)(mark - start), kept = 3; // a digit more is no longer a thousand
    const char *sign = negative ? "-" : "", *after = mark + 1;
    while (kept > 0 && after[kept - 1] == '0')
        kept--;
    const char *ending = kept == 0 ? "0" : kept == 3 ? "0" : "";
    return dw_say("%s%.*s%c%.3s may be %s%.*s%s%.*s or %s%.*s %.3s: write %s%.*s%.3s or %s%.*s.%.*s%s", sign, whole,
                  start, number->mark, after, sign, whole, start, kept ? "." : "", kept, after, sign, whole, start,
                  after, sign, whole, start, after, sign, whole, start, kept, after, ending);
}

DwStatus dw_text_number_clear(const char *name, const char *text, DwMessage *message)
{
    DwTextNumber number;
    if (!dw_text_number_parse(text, &number) || number.mark != ',')
        return DW_OK;
    char *doubt = dw_text_number_doubt(text, &number);
    DwStatus status = dw_fail(message, DW_BAD_INPUT, "%s%s%s.", name ? name : "", name ? ": " : "", doubt);
    free(doubt);
    return status;
}
