// SPDX-License-Identifier: MIT
// Every text of the pages goes through the one catalogue (gettext). English is
// the text itself.
#ifndef DW_WEB_WORDS_H
#define DW_WEB_WORDS_H

// Marks TEXT for the catalogue and gives its translation. Valid for ever.
#define _(text) dw_words(text)
// Marks TEXT of a table; dw_words() translates it where it is used.
#define N_(text) text

// Finds the catalogue of the user's language. Call once, before any page.
void dw_words_init(void);
const char *dw_words(const char *text) __attribute__((format_arg(1)));
// TEXT in the catalogue, else its parts parted by ", " and " or ", each by itself: "Weighted, average", "platter or
// record". The caller frees it with free().
char *dw_words_joined(const char *text);
// One text for COUNT 1, another else.
const char *dw_words_count(const char *one, const char *many, unsigned long count) __attribute__((format_arg(1)))
__attribute__((format_arg(2)));

#endif
