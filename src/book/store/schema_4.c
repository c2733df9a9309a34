// SPDX-License-Identifier: MIT
// Version 4 of the book: what part of a deck a photograph shows, and how it is
// turned for looking at. This text is history: it is never edited (schema.c).
#include "book/store/schema.h"

#include <stddef.h>

// clang-format off
const char *const dw_schema_4[] = {
    "ALTER TABLE attachment ADD COLUMN zone TEXT NOT NULL DEFAULT 'none' CHECK (zone <> '')",
    "ALTER TABLE attachment ADD COLUMN turn INTEGER NOT NULL DEFAULT 0 CHECK (turn BETWEEN 0 AND 3)",
    NULL,
};
