// SPDX-License-Identifier: MIT
// Version 8 of the book: the language in which a customer is written to. This text is history: it is never edited
// (schema.c).
#include "book/store/schema.h"

#include <stddef.h>

// clang-format off
const char *const dw_schema_8[] = {
    "ALTER TABLE customer ADD COLUMN language TEXT NOT NULL DEFAULT 'as the shop' CHECK (language <> '')",
    NULL,
};
