// SPDX-License-Identifier: MIT
#include "base/status.h"

#include "base/tongue.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// How much of the beginning of a line that is too long stays; the rest is of its end, where it says what to do.
enum { BEGINNING = 200, LINE = sizeof((DwMessage *)NULL)->text };

static bool is_within_letter(char byte)
{
    return ((unsigned char)byte & 0xc0) == 0x80;
}

// Writes TEXT into LINE; of what is too long the middle is left out, whole letters of it.
static void put(char line[LINE], const char *text)
{
    static const char gap[] = "…";
    size_t length = strlen(text);
    if (length < LINE) {
        memcpy(line, text, length + 1);
        return;
    }
    size_t begin = BEGINNING, end = length - (LINE - sizeof gap - BEGINNING);
    while (begin > 0 && is_within_letter(text[begin]))
        begin--;
    while (is_within_letter(text[end]))
        end++;
    memcpy(line, text, begin);
    memcpy(line + begin, gap, sizeof gap - 1);
    memcpy(line + begin + sizeof gap - 1, text + end, length - end + 1);
}

static void put_said(DwMessage *message, const char *format, va_list arguments)
{
    const DwTongue *tongue = dw_tongue_of_program();
    if (!tongue)
        return;
    char *said = dw_say_in(tongue, format, arguments);
    put(message->said, said);
    free(said);
}

const char *dw_message_said(const DwMessage *message)
{
    return *message->said ? message->said : message->text;
}

DwStatus dw_fail(DwMessage *message, DwStatus status, const char *format, ...)
{
    if (!message)
        return status;
    va_list arguments, again;
    va_start(arguments, format);
    va_copy(again, arguments);
    char *whole = NULL;
    message->said[0] = '\0';
    if (vasprintf(&whole, format, arguments) >= 0) {
        put_said(message, format, again);
        put(message->text, whole);
        free(whole);
    }
    va_end(again);
    va_end(arguments);
    return status;
}
