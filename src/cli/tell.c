// SPDX-License-Identifier: MIT
#include "cli/tell.h"

#include "base/text.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

void dw_tell(FILE *stream, const char *pattern, ...)
{
    va_list arguments;
    va_start(arguments, pattern);
    char *text = dw_say_in(dw_tongue_of_program(), pattern, arguments);
    fputs(text, stream);
    free(text);
    va_end(arguments);
}

void dw_tell_padded(FILE *stream, const char *text, size_t columns)
{
    size_t width = dw_text_columns(text);
    fprintf(stream, "%s%*s", text, width < columns ? (int)(columns - width) : 0, "");
}

char *dw_tell_number(char *text)
{
    const DwTongue *tongue = dw_tongue_of_program();
    size_t whole = strcspn(text, ".");
    if (!tongue || !text[whole])
        return text;
    char *said = dw_text_format("%.*s%s%s", (int)whole, text, tongue->mark, text + whole + 1);
    free(text);
    return said;
}
