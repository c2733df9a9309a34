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

// The line before on this thread: one that goes on to say where it went wrong has it at a place.
static _Thread_local DwMessage last;

typedef struct {
    const DwTongue *tongue; // NULL is English
    const char *pattern;
} Said;

// What pages say in place of lines of the command line; NULL where nobody reads pages.
static const DwPageLine *page_lines;

void dw_message_for_pages(const DwPageLine *lines)
{
    page_lines = lines;
}

bool dw_message_is_for_pages(void)
{
    return page_lines;
}

static const char *line_for_reader(const char *pattern)
{
    for (const DwPageLine *row = page_lines; row && row->line; row++)
        if (strcmp(row->line, pattern) == 0)
            return row->page;
    return pattern;
}

static const char *say(const void *context, const char *text)
{
    const Said *said = context;
    if (text == said->pattern) {
        const char *line = line_for_reader(text);
        return said->tongue ? said->tongue->say(said->tongue->context, line) : line;
    }
    return *last.said && strcmp(text, last.text) == 0 ? last.said : text;
}

static void put_said(DwMessage *message, const char *format, va_list arguments)
{
    const DwTongue *tongue = dw_tongue_of_program();
    if (!tongue && !page_lines)
        return;
    DwSaying saying = dw_saying_make(format, arguments);
    const Said whole = {tongue, saying.pattern};
    char *said = dw_saying_in(&saying, &(DwTongue){.say = say, .context = &whole, .mark = tongue ? tongue->mark : "."});
    put(message->said, said);
    free(said);
    dw_saying_clear(&saying);
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
        last = *message;
        free(whole);
    }
    va_end(again);
    va_end(arguments);
    return status;
}
