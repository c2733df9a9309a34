// SPDX-License-Identifier: MIT
// Version 9 of the book: what stands on an issued invoice stays as it was; decks that came in together; work that was
// planned and is ticked off. This text is history: it is never edited (schema.c).
#include "book/store/schema.h"

#include <stddef.h>

#define SET(key) "coalesce((SELECT value FROM setting WHERE key = '" key "'), '')"
#define KEPT                                                                                                           \
    "shop_name, shop_address, shop_phone, shop_email, shop_country, shop_tax_number, account_name, deck_words, "       \
    "part_words, issued_at"

// clang-format off
const char *const dw_schema_9[] = {
    "ALTER TABLE invoice ADD COLUMN issued_at TEXT",
    "ALTER TABLE invoice ADD COLUMN shop_name TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE invoice ADD COLUMN shop_address TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE invoice ADD COLUMN shop_phone TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE invoice ADD COLUMN shop_email TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE invoice ADD COLUMN shop_country TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE invoice ADD COLUMN shop_tax_number TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE invoice ADD COLUMN account_name TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE invoice ADD COLUMN deck_words TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE invoice ADD COLUMN part_words TEXT NOT NULL DEFAULT ''",
    // What was issued before keeps what it would be printed with today.
    "UPDATE invoice SET shop_name = " SET("shop.name") ", shop_address = " SET("shop.address") ", shop_phone = "
    SET("shop.phone") ", shop_email = " SET("shop.email") ", shop_country = " SET("shop.country")
    ", shop_tax_number = " SET("shop.tax_number") ", account_name = " SET("shop.account_name")
    " WHERE state <> 'draft'",
    "CREATE TRIGGER invoice_kept BEFORE UPDATE OF " KEPT " ON invoice WHEN OLD.state <> 'draft' BEGIN "
    "SELECT RAISE(ABORT, 'The invoice was issued and is not changed. Correct it with another one.'); END",

    // The first of the jobs that came in together; and of which of them a line of their common invoice is.
    "ALTER TABLE job ADD COLUMN came_with_id INTEGER REFERENCES job",
    "CREATE INDEX job_came_with_id ON job (came_with_id)",
    "ALTER TABLE invoice_line ADD COLUMN job_id INTEGER REFERENCES job",
    "CREATE INDEX invoice_line_job_id ON invoice_line (job_id)",

    // An operation that was planned: by which agreed line, in which order, with what care, why it was left out.
    "ALTER TABLE operation ADD COLUMN estimate_line_id INTEGER REFERENCES estimate_line",
    "ALTER TABLE operation ADD COLUMN place INTEGER NOT NULL DEFAULT 0",
    "ALTER TABLE operation ADD COLUMN care TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE operation ADD COLUMN left_out TEXT NOT NULL DEFAULT ''",
    "CREATE INDEX operation_estimate_line_id ON operation (estimate_line_id)",
    NULL,
};
