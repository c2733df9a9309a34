// SPDX-License-Identifier: MIT
// Names and values in the order in which they came: the fields of a form, the
// words after '?', headers, cookies. A name may come several times.
#ifndef DW_WEB_PAIRS_H
#define DW_WEB_PAIRS_H

#include <stdbool.h>
#include <stddef.h>

typedef struct {
    char *name;
    char *value;
} DwNameValue;

// Start it with {0}; dw_pairs_clear() frees what it holds.
typedef struct {
    DwNameValue *pairs;
    size_t count, room;
} DwPairs;

// Frees what it holds; it is empty then.
void dw_pairs_clear(DwPairs *pairs);
// Adds copies of NAME and VALUE behind what is there.
void dw_pairs_add(DwPairs *pairs, const char *name, const char *value);
// The same in the place of the first of that name, if there is one, whatever its case.
void dw_pairs_put(DwPairs *pairs, const char *name, const char *value);
// Takes out the one at INDEX.
void dw_pairs_drop(DwPairs *pairs, size_t index);
// The last value of NAME, or NULL. Valid until PAIRS is changed.
const char *dw_pairs_find(const DwPairs *pairs, const char *name);
// The first value of NAME in any case, as headers are named, or NULL.
const char *dw_pairs_find_case(const DwPairs *pairs, const char *name);

// LENGTH bytes of TEXT with "%41" read as "A" and, with PLUS, "+" as a space; a
// '%' before anything but two hexadecimal digits stands for itself. Reference:
// WHATWG URL Standard, 1.3 percent-decode. Returned: the text and its bytes in
// *DECODED, which may hold any byte. The caller frees it with free().
char *dw_pairs_decode(const char *text, size_t length, bool plus, size_t *decoded);
// Adds the pairs of LENGTH bytes of TEXT as application/x-www-form-urlencoded has
// them: "a=1&b=&c" is three, two of them empty. Reference: WHATWG URL Standard,
// 5.1. Returned: NULL, or the name of the first pair whose name or value is no
// text (dw_text_is_utf8), as far as it is one; nothing is added from there on. The
// caller frees it with free().
char *dw_pairs_read(DwPairs *pairs, const char *text, size_t length);

#endif
