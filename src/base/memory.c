// SPDX-License-Identifier: MIT
#include "base/memory.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

void *dw_memory_new(size_t count, size_t size)
{
    void *memory = calloc(count ? count : 1, size ? size : 1);
    if (!memory)
        abort();
    return memory;
}

void *dw_memory_resize(void *old, size_t count, size_t size)
{
    if (size && count > SIZE_MAX / size)
        abort();
    size_t bytes = count * size;
    void *memory = realloc(old, bytes ? bytes : 1);
    if (!memory)
        abort();
    return memory;
}

char *dw_memory_text(const char *text)
{
    if (!text)
        return NULL;
    size_t bytes = strlen(text) + 1;
    return memcpy(dw_memory_new(bytes, 1), text, bytes);
}
