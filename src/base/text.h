// SPDX-License-Identifier: MIT
// Text that grows, and numbers to and from text without a locale.
#ifndef DW_BASE_TEXT_H
#define DW_BASE_TEXT_H

#include <stdbool.h>
#include <stddef.h>

// A growing text. Start it with {0}; `dw_text_clear` frees what it holds.
// `chars` is NULL until something was added, then always ends in a zero byte.
typedef struct {
    char *chars;
    size_t length;
    size_t room;
} DwText;

void dw_text_add(DwText *text, const char *format, ...) __attribute__((format(printf, 2, 3)));
void dw_text_clear(DwText *text);
// Hands the characters over and empties TEXT. The caller frees them with free().
char *dw_text_take(DwText *text);

// A new formatted text. The caller frees it with free().
char *dw_text_format(const char *format, ...) __attribute__((format(printf, 1, 2)));

// Reads a number at the start of TEXT: decimal point or comma, an optional
// exponent, a vulgar fraction after it ("33 1/3", "33⅓"). No grouping marks.
// Returned: where reading stopped, or NULL when no finite number stands there.
const char *dw_text_number(const char *text, double *value);

// VALUE with DECIMALS digits after the point; never "-0.00"; "–" when VALUE is
// not finite. Valid until the caller's BUFFER is reused.
const char *dw_text_decimal(char *buffer, size_t size, double value, int decimals);

// How alike two short words are: the number of single-character edits between
// them (Levenshtein distance), for "did you mean".
size_t dw_text_distance(const char *a, const char *b);

// Columns TEXT takes on a terminal: its UTF-8 characters, not its bytes.
size_t dw_text_columns(const char *text);

// Whether the LENGTH bytes at BYTES are text: UTF-8 in its shortest forms, without
// surrogates and without a zero byte, which would end it early. Reference: RFC 3629
// (2003), 4.
bool dw_text_is_utf8(const char *bytes, size_t length);

// Whether a word of TEXT begins with the LENGTH letters at BEGINNING, whatever their case.
bool dw_text_has_word(const char *text, const char *beginning, size_t length);
// TEXT with every "{NAME}" in it replaced. The caller frees it with free().
char *dw_text_replace(const char *text, const char *name, const char *value);

#endif
