// SPDX-License-Identifier: MIT
// A fuzz target takes any bytes and must neither crash nor leak. libFuzzer
// drives it (scripts/fuzz) and replay.c does as an ordinary test.
#ifndef DW_TESTS_FUZZ_TARGET_H
#define DW_TESTS_FUZZ_TARGET_H

#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count);

// What a target promises, also where assertions are compiled out.
#define TARGET_HOLDS(condition)                                                                                        \
    do {                                                                                                               \
        if (!(condition))                                                                                              \
            abort();                                                                                                   \
    } while (0)

// The bytes as text that ends in a zero byte. The caller frees it with free().
static inline char *target_text(const uint8_t *bytes, size_t count)
{
    char *text = malloc(count + 1);
    TARGET_HOLDS(text);
    memcpy(text, bytes, count);
    text[count] = 0;
    return text;
}

#endif
