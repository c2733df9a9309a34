// SPDX-License-Identifier: MIT
// Version 5 of the book: what tells it from every other book, so that a backup is only written over by the book that it
// is of. This text is history: it is never edited (schema.c).
#include "book/store/schema.h"

#include <stddef.h>

// clang-format off
const char *const dw_schema_5[] = {
    "CREATE TABLE identity (id INTEGER PRIMARY KEY CHECK (id = 1), value TEXT NOT NULL CHECK (length(value) = 32)) STRICT",
    "INSERT INTO identity VALUES (1, lower(hex(randomblob(16))))",
    "CREATE TRIGGER identity_stays BEFORE DELETE ON identity BEGIN SELECT RAISE(ABORT, 'A book stays the one it is.'); END",
    "CREATE TRIGGER identity_unchanged BEFORE UPDATE ON identity BEGIN SELECT RAISE(ABORT, 'A book stays the one it is.'); END",
    NULL,
};
