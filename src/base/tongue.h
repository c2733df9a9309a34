// SPDX-License-Identifier: MIT
// The language that is written in: English, that of the program's user, or for a while that of what one thread writes.
// Every text that people read goes through dw_said() or dw_say(); scripts/words gathers them from these calls.
#ifndef DW_BASE_TONGUE_H
#define DW_BASE_TONGUE_H

#include "base/saying.h"

// The language called TAG ("de", "de-AT", "de_AT.UTF-8") by the catalogues of dw_locale_folder(); NULL, which is
// English, where there is none. Valid as long as the program runs.
const DwTongue *dw_tongue_of(const char *tag);
// That of the user: of LANGUAGE the first that there is, else of LC_ALL, LC_MESSAGES or LANG, whichever is the first
// that is set. As with gettext LANGUAGE is not looked at where the locale is "C".
const DwTongue *dw_tongue_of_user(void);

// Marks TEXT of a table; dw_said() says it where it is used.
#define N_(text) text

// What the whole program writes in from here on, NULL for English. Call it before any thread writes.
void dw_tongue_set(const DwTongue *tongue);
// What it writes in, NULL for English. What goes wrong is told in it.
const DwTongue *dw_tongue_of_program(void);
// From here on this thread writes in TONGUE, which must last as long; in English for NULL.
void dw_tongue_use(const DwTongue *tongue);
// From here on this thread writes again in what the program does.
void dw_tongue_drop(void);

// TEXT in the language that this thread writes in. Valid as long as TEXT and that language.
const char *dw_said(const char *text) __attribute__((format_arg(1)));
// The same of a label, which may be put together of texts by ", " and " or ": "Weighted, average", "platter or record".
const char *dw_said_label(const char *label);
// A unit that has a word in it, "% peak", in that language; any other as it is.
const char *dw_said_unit(const char *unit);
// A word at a place of what a sheet says, which may be several of them: "platter or record".
const char *dw_said_words(const char *words);
// The sentence that PATTERN makes, as printf would; numbers have that language's decimal mark. What stands at its
// places is left as it is: words of the program go through dw_said() first. The caller frees it with free().
char *dw_say(const char *pattern, ...) __attribute__((format(printf, 1, 2)));
char *dw_say_in(const DwTongue *tongue, const char *pattern, va_list arguments) __attribute__((format(printf, 2, 0)));
// The same into BUFFER of SIZE bytes; what has no room is cut off after a whole letter.
void dw_say_into(char *buffer, size_t size, const char *pattern, ...) __attribute__((format(printf, 3, 4)));
void dw_say_all_into(char *buffer, size_t size, const char *pattern, va_list arguments)
    __attribute__((format(printf, 3, 0)));
// What a sheet says, in that language. The caller frees it with free().
char *dw_say_saying(const DwSaying *saying);

#endif
