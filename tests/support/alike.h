// SPDX-License-Identifier: MIT
// How many of what is alike are tried. A sanitizer looks at what a path of the code does and not at its figures: once
// down each path is enough for it. The build for use tries them all.
#ifndef DW_TESTS_SUPPORT_ALIKE_H
#define DW_TESTS_SUPPORT_ALIKE_H

#include <stdlib.h>
#include <string.h>

// A count or a step: USUAL; under the address sanitizer SANITIZED, unless everything is asked for (scripts/test --all).
static inline size_t alike(size_t usual, size_t sanitized)
{
#if defined(__SANITIZE_ADDRESS__)
    const char *asked = getenv("DECKWRIGHT_TESTS");
    return asked && strcmp(asked, "all") == 0 ? usual : sanitized;
#else
    (void)sanitized;
    return usual;
#endif
}

#endif
