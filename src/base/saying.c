// SPDX-License-Identifier: MIT
#include "base/saying.h"

#include "base/memory.h"
#include "base/text.h"

#include <assert.h>
#include <ctype.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SPEC_ROOM = 32 };

// One place of a pattern: "%-5.*f", "%2$s", "%%".
typedef struct {
    size_t length; // of its letters, 0 where none stands
    size_t number; // of the part that it names, from 1; 0 for the next
    bool silent;   // "%.0s": its part is left out, as an English "s" is of another language's plural
    char size;     // 'l', 'L' for "ll", 'z', 'h', 0
    char letter;   // of the conversion
} Place;

static Place place_at(const char *at)
{
    Place place = {0};
    const char *from = at;
    if (*at++ != '%')
        return place;
    size_t digits = strspn(at, "0123456789");
    if (digits && at[digits] == '$') {
        place.number = strtoul(at, NULL, 10);
        if (!place.number)
            return place;
        at += digits + 1;
    }
    size_t width = strspn(at, "-+ #0123456789.*");
    place.silent = width == 2 && strncmp(at, ".0s", 3) == 0;
    at += width;
    if (*at == 'h' || *at == 'l' || *at == 'z') {
        place.size = *at++;
        if (*at == place.size) {
            place.size = place.size == 'l' ? 'L' : place.size;
            at++;
        }
    }
    if (!*at || !strchr("diuxcsfeg%", *at))
        return place;
    place.letter = *at++;
    place.length = (size_t)(at - from);
    return place;
}

static bool is_number(const Place *place)
{
    return place->letter != 's' && place->letter != 'c';
}

// The letters of the place at AT with the widths that ARGUMENTS hold for each '*'.
static void spell(char spec[SPEC_ROOM], const char *at, const Place *place, va_list *arguments)
{
    size_t length = 0;
    for (size_t i = 0; i < place->length; i++) {
        if (at[i] == '*')
            length += (size_t)snprintf(spec + length, SPEC_ROOM - length, "%d", va_arg(*arguments, int));
        else
            spec[length++] = at[i];
        assert(length < SPEC_ROOM);
    }
    spec[length] = 0;
}

#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wformat-nonliteral"
static char *whole_part(const char *spec, const Place *place, va_list *arguments)
{
    switch (place->size) {
    case 'l':
        return dw_text_format(spec, va_arg(*arguments, long));
    case 'L':
        return dw_text_format(spec, va_arg(*arguments, long long));
    case 'z':
        return dw_text_format(spec, va_arg(*arguments, size_t));
    default:
        return dw_text_format(spec, va_arg(*arguments, int));
    }
}

static char *next_part(const char *at, const Place *place, va_list *arguments)
{
    char spec[SPEC_ROOM];
    spell(spec, at, place, arguments);
    switch (place->letter) {
    case 's':
        return dw_text_format(spec, va_arg(*arguments, const char *));
    case 'f':
    case 'e':
    case 'g':
        return dw_text_format(spec, va_arg(*arguments, double));
    default:
        return whole_part(spec, place, arguments);
    }
}
#pragma GCC diagnostic pop

static void add_part(DwSaying *saying, char *part)
{
    saying->parts = dw_memory_resize(saying->parts, saying->part_count + 1, sizeof *saying->parts);
    saying->parts[saying->part_count++] = part;
}

// Whether PATTERN, in whatever language, has a place for each of COUNT parts and none for another; its places are
// either all numbered or none is.
static bool fits(const char *pattern, size_t count)
{
    size_t next = 0, numbered = 0, places = 0, named = 0;
    bool *used = dw_memory_new(count + 1, sizeof *used), fit = true;
    for (const char *at = pattern; *at && fit;) {
        Place place = place_at(at);
        if (place.letter && place.letter != '%') {
            size_t part = place.number ? place.number : ++next;
            places++;
            numbered += place.number != 0;
            fit = part <= count;
            named += fit && !used[part];
            if (fit)
                used[part] = true;
        }
        fit = fit && (*at != '%' || place.letter);
        at += place.length ? place.length : 1;
    }
    free(used);
    return fit && named == count && (numbered == places || numbered == 0);
}

// What begins a phrase, stands between its pattern and parts, and ends it.
enum { PHRASE_BEGINS = 1, PHRASE_PARTS = 2, PHRASE_ENDS = 3, PHRASES_DEEP = 8 };
static const char marks[] = {PHRASE_BEGINS, PHRASE_PARTS, PHRASE_ENDS, 0};

// The letters of the phrase that AT begins with, its beginning and end among them; 0 where none does, it has no end or
// more stand within one another than are ever made.
static size_t phrase_length(const char *at)
{
    size_t depth = 0, length = 0;
    do {
        depth += at[length] == PHRASE_BEGINS;
        depth -= depth && at[length] == PHRASE_ENDS;
        length += at[length] != '\0';
    } while (depth && depth <= PHRASES_DEEP && at[length]);
    return depth || *at != PHRASE_BEGINS ? 0 : length;
}

// The phrase of LENGTH letters at AT, taken apart.
static DwSaying phrase_at(const char *at, size_t length)
{
    DwSaying phrase = {0};
    size_t depth = 0, from = 1;
    for (size_t i = 1; i < length; i++) {
        depth += at[i] == PHRASE_BEGINS;
        if (!depth && (at[i] == PHRASE_PARTS || at[i] == PHRASE_ENDS)) {
            char *piece = dw_text_format("%.*s", (int)(i - from), at + from);
            if (phrase.pattern)
                add_part(&phrase, piece);
            else
                phrase.pattern = piece;
            from = i + 1;
        }
        depth -= depth && at[i] == PHRASE_ENDS;
    }
    return phrase;
}

// The phrase of LENGTH letters at AT as TONGUE says it; nothing of one whose parts do not fit.
static void add_phrase(DwText *text, const char *at, size_t length, const DwTongue *tongue)
{
    DwSaying phrase = phrase_at(at, length);
    bool plain = !phrase.pattern[strcspn(phrase.pattern, marks)];
    if (plain && fits(phrase.pattern, phrase.part_count)) {
        char *said = dw_saying_in(&phrase, tongue);
        dw_text_add(text, "%s", said);
        free(said);
    }
    dw_saying_clear(&phrase);
}

// PART with each phrase in it as TONGUE says it, the rest as it is.
static void add_phrases(DwText *text, const char *part, const DwTongue *tongue)
{
    for (const char *at = part; *at;) {
        size_t length = phrase_length(at);
        if (length)
            add_phrase(text, at, length, tongue);
        else if (*at < PHRASE_BEGINS || *at > PHRASE_ENDS)
            dw_text_add(text, "%c", *at);
        else if (at == part || at[-1] < PHRASE_BEGINS || at[-1] > PHRASE_ENDS)
            dw_text_add(text, " "); // stray ones, as in the name of a file
        at += length ? length : 1;
    }
}

static const char *say_as_it_is(const void *context, const char *text)
{
    (void)context;
    return text;
}

static const DwTongue english = {.say = say_as_it_is, .mark = "."};

DwSaying dw_saying_make(const char *pattern, va_list arguments)
{
    DwSaying saying = {.pattern = dw_memory_text(pattern)};
    DwText text = {0};
    dw_text_add(&text, "%s", "");
    va_list rest;
    va_copy(rest, arguments);
    for (const char *at = pattern; *at;) {
        Place place = place_at(at);
        if (place.letter && place.letter != '%') {
            add_part(&saying, next_part(at, &place, &rest));
            add_phrases(&text, saying.parts[saying.part_count - 1], &english);
        } else {
            assert(*at != '%' || place.letter == '%');
            dw_text_add(&text, "%c", *at);
        }
        at += place.length ? place.length : 1;
    }
    va_end(rest);
    saying.text = dw_text_take(&text);
    return saying;
}

char *dw_saying_phrase(const char *pattern, ...)
{
    va_list arguments;
    va_start(arguments, pattern);
    DwSaying saying = dw_saying_make(pattern, arguments);
    va_end(arguments);
    DwText text = {0};
    dw_text_add(&text, "%c%s", PHRASE_BEGINS, saying.pattern);
    for (size_t i = 0; i < saying.part_count; i++)
        dw_text_add(&text, "%c%s", PHRASE_PARTS, saying.parts[i]);
    dw_text_add(&text, "%c", PHRASE_ENDS);
    dw_saying_clear(&saying);
    return dw_text_take(&text);
}

// PART as TONGUE writes it: a number with its decimal mark and a minus (ISO 80000-1:2009, 7.3.1, from memory), a word
// in its language.
static void add_said(DwText *text, const DwTongue *tongue, const char *part, bool number)
{
    if (!number && part[strcspn(part, marks)]) {
        add_phrases(text, part, tongue);
        return;
    }
    if (!number || tongue == &english) {
        dw_text_add(text, "%s", *part ? tongue->say(tongue->context, part) : "");
        return;
    }
    for (const char *at = part; *at; at++)
        if (*at == '.')
            dw_text_add(text, "%s", tongue->mark);
        else if (*at == '-' && (at == part || at[-1] == ' '))
            dw_text_add(text, "−");
        else
            dw_text_add(text, "%c", *at);
}

// For each part of the sentence, whether its own pattern prints a number there.
static bool *numbers_of(const DwSaying *saying)
{
    bool *numbers = dw_memory_new(saying->part_count + 1, sizeof *numbers);
    size_t next = 0;
    for (const char *at = saying->pattern; *at;) {
        Place place = place_at(at);
        if (place.letter && place.letter != '%' && next < saying->part_count)
            numbers[next++] = is_number(&place);
        at += place.length ? place.length : 1;
    }
    return numbers;
}

char *dw_saying_in(const DwSaying *saying, const DwTongue *tongue)
{
    if (!saying->pattern)
        return dw_memory_text(*saying->text ? tongue->say(tongue->context, saying->text) : "");
    const char *pattern = *saying->pattern ? tongue->say(tongue->context, saying->pattern) : "";
    if (!fits(pattern, saying->part_count))
        pattern = saying->pattern;
    bool *numbers = numbers_of(saying);
    DwText text = {0};
    dw_text_add(&text, "%s", "");
    size_t next = 0;
    for (const char *at = pattern; *at;) {
        Place place = place_at(at);
        if (place.letter && place.letter != '%') {
            size_t part = place.number ? place.number - 1 : next++;
            add_said(&text, tongue, place.silent ? "" : saying->parts[part], numbers[part]);
        } else {
            dw_text_add(&text, "%c", *at);
        }
        at += place.length ? place.length : 1;
    }
    free(numbers);
    return dw_text_take(&text);
}

DwSaying dw_saying_of(const char *text, const char *pattern, const char *const *parts, size_t part_count)
{
    DwSaying saying = {.text = dw_memory_text(text)};
    if (!pattern || !fits(pattern, part_count))
        return saying;
    saying.pattern = dw_memory_text(pattern);
    for (size_t i = 0; i < part_count; i++)
        add_part(&saying, dw_memory_text(parts[i]));
    return saying;
}

void dw_saying_clear(DwSaying *saying)
{
    for (size_t i = 0; i < saying->part_count; i++)
        free(saying->parts[i]);
    free(saying->parts);
    free(saying->pattern);
    free(saying->text);
    *saying = (DwSaying){0};
}
