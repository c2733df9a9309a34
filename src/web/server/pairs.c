// SPDX-License-Identifier: MIT
#include "web/server/pairs.h"

#include "base/memory.h"
#include "base/text.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

void dw_pairs_clear(DwPairs *pairs)
{
    for (size_t i = 0; i < pairs->count; i++) {
        free(pairs->pairs[i].name);
        free(pairs->pairs[i].value);
    }
    free(pairs->pairs);
    *pairs = (DwPairs){0};
}

// Takes ownership of both.
static void take(DwPairs *pairs, char *name, char *value)
{
    if (pairs->count == pairs->room) {
        pairs->room = pairs->room ? 2 * pairs->room : 16;
        pairs->pairs = dw_memory_resize(pairs->pairs, pairs->room, sizeof *pairs->pairs);
    }
    pairs->pairs[pairs->count++] = (DwNameValue){name, value};
}

void dw_pairs_add(DwPairs *pairs, const char *name, const char *value)
{
    take(pairs, dw_memory_text(name), dw_memory_text(value));
}

void dw_pairs_put(DwPairs *pairs, const char *name, const char *value)
{
    for (size_t i = 0; i < pairs->count; i++)
        if (strcasecmp(pairs->pairs[i].name, name) == 0) {
            free(pairs->pairs[i].value);
            pairs->pairs[i].value = dw_memory_text(value);
            return;
        }
    dw_pairs_add(pairs, name, value);
}

void dw_pairs_drop(DwPairs *pairs, size_t index)
{
    free(pairs->pairs[index].name);
    free(pairs->pairs[index].value);
    pairs->count--;
    for (size_t i = index; i < pairs->count; i++)
        pairs->pairs[i] = pairs->pairs[i + 1];
}

const char *dw_pairs_find(const DwPairs *pairs, const char *name)
{
    for (size_t i = pairs->count; i-- > 0;)
        if (strcmp(pairs->pairs[i].name, name) == 0)
            return pairs->pairs[i].value;
    return NULL;
}

const char *dw_pairs_find_case(const DwPairs *pairs, const char *name)
{
    for (size_t i = 0; i < pairs->count; i++)
        if (strcasecmp(pairs->pairs[i].name, name) == 0)
            return pairs->pairs[i].value;
    return NULL;
}

static int hexadecimal(char digit)
{
    static const char digits[] = "0123456789abcdef";
    const char *found = digit ? strchr(digits, tolower((unsigned char)digit)) : NULL;
    return found ? (int)(found - digits) : -1;
}

char *dw_pairs_decode(const char *text, size_t length, bool plus, size_t *decoded)
{
    char *into = dw_memory_new(length + 1, 1);
    size_t size = 0;
    for (size_t i = 0; i < length; i++) {
        bool coded = text[i] == '%' && length - i > 2 && hexadecimal(text[i + 1]) >= 0 && hexadecimal(text[i + 2]) >= 0;
        if (coded) {
            into[size++] = (char)(hexadecimal(text[i + 1]) << 4 | hexadecimal(text[i + 2]));
            i += 2;
        } else
            into[size++] = plus && text[i] == '+' ? ' ' : text[i];
    }
    *decoded = size;
    return into;
}

// Adds the pair that stands in LENGTH bytes of TEXT; as dw_pairs_read().
static char *read_pair(DwPairs *pairs, const char *text, size_t length)
{
    const char *sign = memchr(text, '=', length);
    size_t before = sign ? (size_t)(sign - text) : length;
    size_t after = sign ? length - before - 1 : 0, name_length, value_length;
    char *name = dw_pairs_decode(text, before, true, &name_length);
    char *value = dw_pairs_decode(text + length - after, after, true, &value_length);
    bool named = dw_text_is_utf8(name, name_length);
    if (named && dw_text_is_utf8(value, value_length)) {
        take(pairs, name, value);
        return NULL;
    }
    free(value);
    if (named)
        return name;
    free(name);
    return dw_memory_text("");
}

char *dw_pairs_read(DwPairs *pairs, const char *text, size_t length)
{
    char *wrong = NULL;
    for (size_t begin = 0, end; !wrong && begin < length; begin = end + 1) {
        const char *sign = memchr(text + begin, '&', length - begin);
        end = sign ? (size_t)(sign - text) : length;
        if (end > begin)
            wrong = read_pair(pairs, text + begin, end - begin);
    }
    return wrong;
}
