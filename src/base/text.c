// SPDX-License-Identifier: MIT
#include "base/text.h"

#include "base/memory.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

static void add_arguments(DwText *text, const char *format, va_list arguments)
{
    va_list again;
    va_copy(again, arguments);
    // Mostly there is room, and it is written once.
    size_t left = text->room - text->length;
    int needed = vsnprintf(left ? text->chars + text->length : NULL, left, format, arguments);
    if (needed > 0 && (size_t)needed >= left) {
        text->room = text->length + (size_t)needed + 1;
        text->room += text->room / 2 + 32;
        text->chars = dw_memory_resize(text->chars, text->room, 1);
        vsnprintf(text->chars + text->length, text->room - text->length, format, again);
    }
    text->length += needed > 0 ? (size_t)needed : 0;
    va_end(again);
}

void dw_text_add(DwText *text, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    add_arguments(text, format, arguments);
    va_end(arguments);
}

void dw_text_add_taken(DwText *text, const char *before, char *part)
{
    dw_text_add(text, "%s%s", before, part);
    free(part);
}

void dw_text_add_word(DwText *text, const char *word)
{
    static const char plain[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-+./,:=@%";
    bool is_plain = *word != '\0';
    for (const char *at = word; *at && is_plain; at++)
        is_plain = (unsigned char)*at >= 0x80 || strchr(plain, *at);
    if (is_plain) {
        dw_text_add(text, "%s", word);
        return;
    }
    dw_text_add(text, "'");
    for (size_t length; *word; word += length + (word[length] == '\'')) {
        length = strcspn(word, "'");
        dw_text_add(text, "%.*s%s", (int)length, word, word[length] ? "'\\''" : "");
    }
    dw_text_add(text, "'");
}

void dw_text_clear(DwText *text)
{
    free(text->chars);
    *text = (DwText){0};
}

char *dw_text_take(DwText *text)
{
    char *chars = text->chars ? text->chars : dw_memory_text("");
    *text = (DwText){0};
    return chars;
}

char *dw_text_format(const char *format, ...)
{
    DwText text = {0};
    va_list arguments;
    va_start(arguments, format);
    add_arguments(&text, format, arguments);
    va_end(arguments);
    return dw_text_take(&text);
}

const char *dw_text_decimal(char *buffer, size_t size, double value, int decimals)
{
    if (!isfinite(value)) {
        snprintf(buffer, size, "–");
        return buffer;
    }
    snprintf(buffer, size, "%.*f", decimals, value);
    if (buffer[0] == '-' && strspn(buffer + 1, "0.") == strlen(buffer + 1))
        memmove(buffer, buffer + 1, strlen(buffer));
    return buffer;
}

int dw_text_doubt_decimals(double doubt, int decimals)
{
    enum { MOST = 12 };
    if (!(fabs(doubt) > 0))
        return decimals;
    while (decimals < MOST && fabs(doubt) * pow(10, decimals) < 0.5)
        decimals++;
    return decimals;
}

static size_t least_of(size_t a, size_t b)
{
    return a < b ? a : b;
}

// Three rows of the table are enough: two neighbours that were swapped look two rows back.
size_t dw_text_distance(const char *a, const char *b)
{
    size_t columns = strlen(b) + 1;
    size_t *rows = dw_memory_new(3 * columns, sizeof *rows);
    size_t *before = rows, *last = rows + columns, *row = rows + 2 * columns;
    for (size_t j = 0; j < columns; j++)
        row[j] = j;
    for (size_t i = 0; a[i]; i++) {
        size_t *oldest = before;
        before = last;
        last = row;
        row = oldest;
        row[0] = i + 1;
        for (size_t j = 1; j < columns; j++) {
            row[j] = least_of(last[j - 1] + (a[i] != b[j - 1]), least_of(last[j], row[j - 1]) + 1);
            if (i > 0 && j > 1 && a[i] == b[j - 2] && a[i - 1] == b[j - 1])
                row[j] = least_of(row[j], before[j - 2] + 1);
        }
    }
    size_t distance = row[columns - 1];
    free(rows);
    return distance;
}

// How many bytes the character at BYTES has, of which LENGTH are there; 0 when it is none.
static size_t utf8_character(const unsigned char *bytes, size_t length)
{
    // By the first byte: how many follow it, and which second bytes keep the form the shortest one.
    static const struct {
        unsigned char low, high, more, second_low, second_high;
    } forms[] = {
        {0x01, 0x7F, 0, 0, 0},       {0xC2, 0xDF, 1, 0x80, 0xBF}, {0xE0, 0xE0, 2, 0xA0, 0xBF},
        {0xE1, 0xEC, 2, 0x80, 0xBF}, {0xED, 0xED, 2, 0x80, 0x9F}, {0xEE, 0xEF, 2, 0x80, 0xBF},
        {0xF0, 0xF0, 3, 0x90, 0xBF}, {0xF1, 0xF3, 3, 0x80, 0xBF}, {0xF4, 0xF4, 3, 0x80, 0x8F},
    };
    for (size_t i = 0; i < sizeof forms / sizeof *forms; i++) {
        if (bytes[0] < forms[i].low || bytes[0] > forms[i].high)
            continue;
        size_t whole = 1u + forms[i].more;
        if (whole > length || (whole > 1 && (bytes[1] < forms[i].second_low || bytes[1] > forms[i].second_high)))
            return 0;
        for (size_t at = 2; at < whole; at++)
            if ((bytes[at] & 0xC0) != 0x80)
                return 0;
        return whole;
    }
    return 0;
}

size_t dw_text_letter(const char *text)
{
    return utf8_character((const unsigned char *)text, strnlen(text, 4));
}

static bool is_unseen(unsigned letter)
{
    static const struct {
        unsigned first, last;
    } unseen[] = {{0, 0x20},        {0x7F, 0xA0},     {0xAD, 0xAD},     {0x61C, 0x61C},
                  {0x1680, 0x1680}, {0x180E, 0x180E}, {0x2000, 0x200F}, {0x2028, 0x202F},
                  {0x205F, 0x206F}, {0x3000, 0x3000}, {0xFE00, 0xFE0F}, {0xFEFF, 0xFEFF}};
    for (size_t i = 0; i < sizeof unseen / sizeof *unseen; i++)
        if (letter >= unseen[i].first && letter <= unseen[i].last)
            return true;
    return false;
}

bool dw_text_is_blank(const char *text)
{
    static const unsigned char masks[] = {0, 0x7F, 0x1F, 0x0F, 0x07}; // of a letter's first byte, by its bytes
    for (size_t size; *text; text += size) {
        size = dw_text_letter(text);
        unsigned letter = (unsigned char)*text & masks[size];
        for (size_t i = 1; i < size; i++)
            letter = letter << 6 | ((unsigned char)text[i] & 0x3F);
        if (size == 0 || !is_unseen(letter))
            return false;
    }
    return true;
}

int dw_text_whole(const char *text, int most)
{
    int length = 0;
    while (length < most && text[length])
        length++;
    while (length > 0 && text[length] && ((unsigned char)text[length] & 0xC0) == 0x80)
        length--;
    return length;
}

bool dw_text_is_utf8(const char *bytes, size_t length)
{
    while (length) {
        size_t size = utf8_character((const unsigned char *)bytes, length);
        if (!size)
            return false;
        bytes += size;
        length -= size;
    }
    return true;
}

bool dw_text_is_figures(const char *text, size_t count)
{
    return strlen(text) == count && strspn(text, "0123456789abcdef") == count;
}

size_t dw_text_columns(const char *text)
{
    size_t columns = 0;
    for (; *text; text++)
        columns += ((unsigned char)*text & 0xC0) != 0x80;
    return columns;
}

char *dw_text_replace(const char *text, const char *name, const char *value)
{
    DwText result = {0};
    size_t length = strlen(name);
    while (*text) {
        const char *open = strchr(text, '{');
        if (!open) {
            dw_text_add(&result, "%s", text);
            break;
        }
        dw_text_add(&result, "%.*s", (int)(open - text), text);
        bool named = strncmp(open + 1, name, length) == 0 && open[1 + length] == '}';
        dw_text_add(&result, "%s", named ? value : "{");
        text = named ? open + length + 2 : open + 1;
    }
    return dw_text_take(&result);
}

void dw_text_begin_sentence(char *text)
{
    unsigned char *byte = (unsigned char *)text;
    // Of U+00E0 to U+00FE each but the sign of division has its capital 32 below (Unicode, Latin-1 Supplement).
    if (byte[0] == 0xc3 && byte[1] >= 0xa0 && byte[1] <= 0xbe && byte[1] != 0xb7)
        byte[1] -= 0x20;
    else if (byte[0] == 0xc5 && byte[1] == 0x93)
        byte[1] = 0x92;
    else
        byte[0] = (unsigned char)toupper(byte[0]);
}

bool dw_text_has_word(const char *text, const char *beginning, size_t length)
{
    for (const char *at = text; *at; at++)
        if ((at == text || !isalnum((unsigned char)at[-1])) && strncasecmp(at, beginning, length) == 0)
            return true;
    return false;
}
