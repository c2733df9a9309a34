// SPDX-License-Identifier: MIT
// Version 10 of the book: what a large shop's pages look for is found without reading all there is. This text is
// history: it is never edited (schema.c).
#include "book/store/schema.h"

#include <stddef.h>

// clang-format off
const char *const dw_schema_10[] = {
    // Customers and decks that may stand twice (twin.c asks in these very words).
    "CREATE INDEX customer_same_name ON customer (lower(trim(name)))",
    "CREATE INDEX customer_same_email ON customer (lower(trim(email)))",
    "CREATE INDEX customer_same_phone ON customer (replace(replace(replace(replace(replace(replace(phone, ' ', ''), "
    "'-', ''), '/', ''), '.', ''), '(', ''), ')', ''))",
    "CREATE INDEX deck_same_serial ON deck (lower(trim(serial)))",
    "CREATE INDEX attachment_recording ON attachment (id) WHERE kind = 'recording'",
    NULL,
};
