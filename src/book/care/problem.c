// SPDX-License-Identifier: MIT
#include "book/care/problem.h"

#include "base/memory.h"
#include "base/tongue.h"

#include <stdarg.h>
#include <stdlib.h>

void dw_problems_add(DwProblems *problems, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    char *line = dw_say_in(dw_tongue_of_program(), format, arguments);
    va_end(arguments);
    problems->lines = dw_memory_resize(problems->lines, problems->count + 1, sizeof *problems->lines);
    problems->lines[problems->count++] = line;
}

void dw_problems_clear(DwProblems *problems)
{
    for (size_t i = 0; i < problems->count; i++)
        free(problems->lines[i]);
    free(problems->lines);
    *problems = (DwProblems){0};
}
