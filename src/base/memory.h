// SPDX-License-Identifier: MIT
// Memory that is there or ends the program: a bench tool that has run out of
// memory has nothing sensible left to do (docs/decisions/0002).
#ifndef DW_BASE_MEMORY_H
#define DW_BASE_MEMORY_H

#include <stddef.h>

// COUNT zeroed elements of SIZE bytes. The caller frees it with free().
void *dw_memory_new(size_t count, size_t size);
// OLD grown or shrunk to COUNT elements of SIZE bytes; what is added is not
// zeroed. The caller frees it with free().
void *dw_memory_resize(void *old, size_t count, size_t size);
// A copy of TEXT (NULL gives NULL). The caller frees it with free().
char *dw_memory_text(const char *text);

#endif
