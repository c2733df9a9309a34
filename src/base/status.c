// SPDX-License-Identifier: MIT
#include "base/status.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// How much of the beginning of a line that is too long stays; the rest is of its end, where it says what to do.
enum { BEGINNING = 200 };

static bool is_within_letter(char byte)
{
    return ((unsigned char)byte & 0xc0) == 0x80;
}

// Leaves out what is too much of TEXT in the middle, whole letters of it.
static void shorten(DwMessage *message, const char *text, size_t length)
{
    static const char gap[] = "…";
    size_t begin = BEGINNING, end = length - (sizeof message->text - sizeof gap - BEGINNING);
    while (begin > 0 && is_within_letter(text[begin]))
        begin--;
    while (is_within_letter(text[end]))
        end++;
    memcpy(message->text, text, begin);
    memcpy(message->text + begin, gap, sizeof gap - 1);
    memcpy(message->text + begin + sizeof gap - 1, text + end, length - end + 1);
}

DwStatus dw_fail(DwMessage *message, DwStatus status, const char *format, ...)
{
    if (!message)
        return status;
    va_list arguments, again;
    va_start(arguments, format);
    va_copy(again, arguments);
    int length = vsnprintf(message->text, sizeof message->text, format, arguments);
    if (length >= (int)sizeof message->text) {
        char *whole = NULL;
        if (vasprintf(&whole, format, again) == length)
            shorten(message, whole, (size_t)length);
        free(whole);
    }
    va_end(again);
    va_end(arguments);
    return status;
}
