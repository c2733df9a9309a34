// SPDX-License-Identifier: MIT
// What the book's care finds wrong on its way: a sentence each, while the work goes on.
#ifndef DW_BOOK_PROBLEM_H
#define DW_BOOK_PROBLEM_H

#include <stddef.h>

typedef struct {
    char **lines; // none when all is well
    size_t count;
} DwProblems;

// Appends a line, formatted as by printf. Start PROBLEMS with {0}; dw_problems_clear() frees what it holds.
void dw_problems_add(DwProblems *problems, const char *format, ...) __attribute__((format(printf, 2, 3)));
void dw_problems_clear(DwProblems *problems);

#endif
