// SPDX-License-Identifier: MIT
// What a sheet says in words: a text of the catalogue with what stands at its places, so that each face says it in its
// reader's language. English is the text itself. What stands at a place may be a phrase with places of its own.
#ifndef DW_BASE_SAYING_H
#define DW_BASE_SAYING_H

#include <stdarg.h>
#include <stddef.h>

typedef struct {
    char *text;    // the whole, in English
    char *pattern; // as for printf: "Set the stylus %.2f mm %s the spindle."
    char **parts;  // what stands at each place of PATTERN, in its order: "1.20", "past"
    size_t part_count;
} DwSaying;

// How a reader says it.
typedef struct {
    // TEXT, a pattern or a word at a place, in the reader's language; TEXT itself where there is none.
    const char *(*say)(const void *context, const char *text);
    const void *context;
    const char *mark; // the decimal mark
} DwTongue;

// The sentence that PATTERN makes of ARGUMENTS, as vprintf would. PATTERN has conversions d i u x c s f e g, with
// flags, width, precision and size, and no numbered places. The caller frees what it holds with dw_saying_clear().
DwSaying dw_saying_make(const char *pattern, va_list arguments) __attribute__((format(printf, 1, 0)));
// The phrase that PATTERN makes, to stand at a "%s" of a sentence or of another phrase, alone or among other letters:
// "twist %.1f° %s". It is no text to be shown by itself: it holds its pattern and parts between the characters 1 to 3.
// The caller frees it with free().
char *dw_saying_phrase(const char *pattern, ...) __attribute__((format(printf, 1, 2)));
// The one that TEXT, PATTERN and PARTS were kept of, all copied. Where they do not fit together, TEXT alone is taken.
DwSaying dw_saying_of(const char *text, const char *pattern, const char *const *parts, size_t part_count);
void dw_saying_clear(DwSaying *saying);

// The sentence as TONGUE says it. Its pattern may number its places ("%2$s"), put them in any order and leave a word
// out ("%2$.0s"); one that has other places than the sentence is left aside, and English stands. The caller frees it
// with free().
char *dw_saying_in(const DwSaying *saying, const DwTongue *tongue);

#endif
