// SPDX-License-Identifier: MIT
#include "base/angle_text.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

static const char *skip_spaces(const char *text)
{
    while (*text == ' ')
        text++;
    return text;
}

// Past one of SIGNS, or NULL.
static const char *read_sign(const char *text, const char *const *signs)
{
    for (; *signs; signs++)
        if (strncmp(text, *signs, strlen(*signs)) == 0)
            return text + strlen(*signs);
    return NULL;
}

// Up to three digits, with DECIMALS a part behind a point; past them, or NULL.
static const char *read_digits(const char *text, bool decimals, double *value)
{
    char digits[16] = "";
    size_t length = strspn(text, "0123456789");
    if (length < 1 || length > 3)
        return NULL;
    if (decimals && text[length] == '.' && isdigit((unsigned char)text[length + 1]))
        length += 1 + strspn(text + length + 1, "0123456789");
    if (length >= sizeof digits)
        return NULL;
    memcpy(digits, text, length);
    *value = strtod(digits, NULL);
    return text + length;
}

bool dw_angle_text_read(const char *text, double *degrees)
{
    static const char *const degree[] = {"°", "deg", NULL}, *const minute[] = {"'", "′", "’", NULL},
                             *const second[] = {"\"", "″", "”", "''", NULL}, *const minus[] = {"-", "−", NULL};
    double parts[3] = {0};
    text = skip_spaces(text);
    const char *at = read_sign(text, minus);
    double sign = at ? -1 : 1;
    at = read_digits(at ? at : text, false, &parts[0]);
    at = at ? read_sign(skip_spaces(at), degree) : NULL;
    at = at ? read_digits(skip_spaces(at), true, &parts[1]) : NULL;
    at = at ? read_sign(skip_spaces(at), minute) : NULL;
    if (!at)
        return false;
    at = skip_spaces(at);
    if (*at) {
        at = read_digits(at, true, &parts[2]);
        at = at ? read_sign(skip_spaces(at), second) : NULL;
    }
    if (!at || *skip_spaces(at) || parts[1] >= 60 || parts[2] >= 60)
        return false;
    *degrees = sign * (parts[0] + parts[1] / 60 + parts[2] / 3600);
    return true;
}
