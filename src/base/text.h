// SPDX-License-Identifier: MIT
// Text that grows, and numbers to and from text without a locale.
#ifndef DW_BASE_TEXT_H
#define DW_BASE_TEXT_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

// A growing text. Start it with {0}; `dw_text_clear` frees what it holds.
// `chars` is NULL until something was added, then always ends in a zero byte.
typedef struct {
    char *chars;
    size_t length;
    size_t room;
} DwText;

// Appends, formatted as by printf. Start TEXT with {0}; dw_text_clear() frees what it holds.
void dw_text_add(DwText *text, const char *format, ...) __attribute__((format(printf, 2, 3)));
// Appends BEFORE and then PART, which it frees.
void dw_text_add_taken(DwText *text, const char *before, char *part);
// Appends WORD as a shell takes it for one word: in quotes where it has blanks or signs with a meaning of their own.
// Reference: IEEE Std 1003.1-2017, Shell & Utilities, 2.2.2.
void dw_text_add_word(DwText *text, const char *word);
void dw_text_clear(DwText *text);
// Hands the characters over and empties TEXT. The caller frees them with free().
char *dw_text_take(DwText *text);

// A new formatted text. The caller frees it with free().
char *dw_text_format(const char *format, ...) __attribute__((format(printf, 1, 2)));

// A number as typed.
typedef struct {
    double value;
    double grouped; // what else it may be: with its one separator parting thousands; NAN where it is clear
    int decimals;   // digits typed behind the decimal mark
    char mark;      // the separator that leaves it open; 0 where it is clear
} DwTextNumber;

// Reads a number at the start of TEXT: decimal point or comma, thousands parted by spaces,
// apostrophes or the other mark ("47 000", "1,234.5", "1.234.567"), an optional exponent, a
// vulgar fraction after it ("33 1/3", "33⅓"). Three digits behind a single mark leave open
// which it is ("47,000"): *NUMBER then says both.
// Returned: where reading stopped, or NULL when no finite number stands there.
const char *dw_text_number_parse(const char *text, DwTextNumber *number);
// The same, where a comma that leaves it open is refused, and a point is a decimal point, as
// this program itself writes it.
const char *dw_text_number(const char *text, double *value);
// The same for a list: spaces part numbers, no thousands.
const char *dw_text_number_in_list(const char *text, double *value);
// DW_BAD_INPUT with both readings when TEXT begins with a number that a comma leaves open. NAME
// says of what, or is NULL.
DwStatus dw_text_number_clear(const char *name, const char *text, DwMessage *message);
// The line for NUMBER, which is open, at the start of TEXT: "47,000 may be 47 or 47 000: …".
// The caller frees it with free().
char *dw_text_number_doubt(const char *text, const DwTextNumber *number);

// VALUE with DECIMALS digits after the point; never "-0.00"; "–" when VALUE is
// not finite. Valid until the caller's BUFFER is reused.
const char *dw_text_decimal(char *buffer, size_t size, double value, int decimals);
// The digits after the point with which DOUBT, an uncertainty, is written beside a value of DECIMALS: as many as the
// value has, more where it would read as nothing.
int dw_text_doubt_decimals(double doubt, int decimals);

// How alike two short words are: the number of single-character edits between
// them (Levenshtein distance), for "did you mean".
size_t dw_text_distance(const char *a, const char *b);

// Columns TEXT takes on a terminal: its UTF-8 characters, not its bytes.
size_t dw_text_columns(const char *text);

// Whether the LENGTH bytes at BYTES are text: UTF-8 in its shortest forms, without
// surrogates and without a zero byte, which would end it early. Reference: RFC 3629
// (2003), 4.
bool dw_text_is_utf8(const char *bytes, size_t length);

// Whether TEXT is COUNT figures of base sixteen, small letters, and no more: a hash or a token as it is written out.
bool dw_text_is_figures(const char *text, size_t count);

// The bytes of the letter that TEXT begins with; 0 at its end and where it is no UTF-8.
size_t dw_text_letter(const char *text);
// Whether nothing of TEXT can be seen: it has only blanks, controls, joiners and marks of direction.
// Reference: The Unicode Standard 15.0, 6.2 "Writing Systems and Punctuation", space characters; 23.2 and 23.3, layout
// controls.
bool dw_text_is_blank(const char *text);
// How many of the first MOST bytes of TEXT are whole letters: for "%.*s", which counts bytes and cuts letters in two.
int dw_text_whole(const char *text, int most);

// Whether a word of TEXT begins with the LENGTH letters at BEGINNING, whatever their case.
bool dw_text_has_word(const char *text, const char *beginning, size_t length);
// Makes the first letter of TEXT a capital, in place; also one of western European languages ("à", "ö", "œ").
void dw_text_begin_sentence(char *text);
// TEXT with every "{NAME}" in it replaced. The caller frees it with free().
char *dw_text_replace(const char *text, const char *name, const char *value);

#endif
