// SPDX-License-Identifier: MIT
// How many of what is alike are tried. A sanitizer looks at what a path of the code does and not at its figures: once
// down each path is enough for it. The build for use tries them all.
#ifndef DW_TESTS_SUPPORT_ALIKE_H
#define DW_TESTS_SUPPORT_ALIKE_H

#include <stdlib.h>
#include <string.h>

#if defined(__SANITIZE_ADDRESS__)
#define DW_TESTS_USUALLY "few"
#else
#define DW_TESTS_USUALLY "all"
#endif

// A count or a step: USUAL; under the address sanitizer SANITIZED. DECKWRIGHT_TESTS, "all" (as scripts/test --all has
// it) or "few", asks for either in any build: with "few" counters show which lines the sanitizer still sees.
static inline size_t alike(size_t usual, size_t sanitized)
{
    const char *asked = getenv("DECKWRIGHT_TESTS");
    return strcmp(asked ? asked : DW_TESTS_USUALLY, "few") == 0 ? sanitized : usual;
}

#endif
