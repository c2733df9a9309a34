// SPDX-License-Identifier: MIT
// What the command line prints for people: in their language (base/tongue.h), English as it stands in the source.
#ifndef DW_CLI_TELL_H
#define DW_CLI_TELL_H

#include "base/tongue.h"

#include <stdio.h>

// Prints PATTERN, a text of the catalogue, as fprintf would. What stands at its places is printed as it is: words of
// the program go through dw_said() first.
void dw_tell(FILE *stream, const char *pattern, ...) __attribute__((format(printf, 2, 3)));

// TEXT and as many blanks as bring it to COLUMNS.
void dw_tell_padded(FILE *stream, const char *text, size_t columns);

// TEXT, a number as programs write it, with the mark of the reader's language. Takes ownership of TEXT; the caller
// frees it with free().
char *dw_tell_number(char *text);

#endif
