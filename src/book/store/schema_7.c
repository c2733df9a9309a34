// SPDX-License-Identifier: MIT
// Version 7 of the book: money as EN 16931 speaks of it, what became of a deck that nobody fetched, and searching in
// what was written. This text is history: it is never edited (schema.c).
#include "book/store/schema.h"

#include <stddef.h>

#define JOB_WORDS                                                                                                      \
    "format('%04d', NEW.number) || ' ' || NEW.number || ' ' || NEW.fault || ' ' || NEW.advice || ' ' || NEW.not_done"
#define INTAKE_WORDS                                                                                                   \
    "words || ' ' || since_when || ' ' || worked_last || ' ' || changed_lately || ' ' || system || ' ' || smell || "   \
    "' ' || earlier_repair"
#define NEW_INTAKE_WORDS                                                                                               \
    "NEW.words || ' ' || NEW.since_when || ' ' || NEW.worked_last || ' ' || NEW.changed_lately || ' ' || NEW.system "  \
    "|| ' ' || NEW.smell || ' ' || NEW.earlier_repair"
#define FINDING_WORDS "symptom || ' ' || test || ' ' || cause || ' ' || action || ' ' || after"
#define NEW_FINDING_WORDS "NEW.symptom || ' ' || NEW.test || ' ' || NEW.cause || ' ' || NEW.action || ' ' || NEW.after"

// clang-format off
const char *const dw_schema_7[] = {
    "ALTER TABLE customer ADD COLUMN country TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE estimate_line ADD COLUMN tax TEXT NOT NULL DEFAULT 'as the bill' CHECK (tax <> '')",
    "ALTER TABLE estimate_line ADD COLUMN tax_rate INTEGER NOT NULL DEFAULT 0",
    "ALTER TABLE invoice_line ADD COLUMN tax TEXT NOT NULL DEFAULT 'as the bill' CHECK (tax <> '')",
    "ALTER TABLE invoice_line ADD COLUMN tax_rate INTEGER NOT NULL DEFAULT 0",
    "ALTER TABLE invoice ADD COLUMN kind TEXT NOT NULL DEFAULT 'invoice' CHECK (kind <> '')",
    // Invoices are counted within their year; those from before the year was kept have none.
    "ALTER TABLE invoice ADD COLUMN year INTEGER NOT NULL DEFAULT 0",
    "ALTER TABLE invoice ADD COLUMN supplied_on TEXT",
    "ALTER TABLE invoice ADD COLUMN due_on TEXT",
    "ALTER TABLE invoice ADD COLUMN terms TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE invoice ADD COLUMN account TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE invoice ADD COLUMN currency TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE invoice ADD COLUMN customer_country TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE invoice ADD COLUMN exempt_reason TEXT NOT NULL DEFAULT ''",
    "DROP INDEX invoice_number",
    "CREATE UNIQUE INDEX invoice_number ON invoice (year, number) WHERE number > 0",
    "DROP TRIGGER invoice_unchanged",
    "CREATE TRIGGER invoice_unchanged BEFORE UPDATE OF job_id, number, state, issued_on, tax_rate, corrects_id, words, "
    "warranty_from, warranty_until, warranty_covers, warranty_excludes, kind, year, supplied_on, due_on, terms, account, "
    "currency, customer_country, exempt_reason ON invoice WHEN OLD.state <> 'draft' BEGIN "
    "SELECT RAISE(ABORT, 'The invoice was issued and is not changed. Correct it with another one.'); END",

    "CREATE TABLE payment (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL, job_id INTEGER NOT NULL REFERENCES job"
    ", invoice_id INTEGER REFERENCES invoice, kind TEXT NOT NULL CHECK (kind <> '')"
    ", amount INTEGER NOT NULL, method TEXT NOT NULL CHECK (method <> ''), paid_on TEXT NOT NULL"
    ", reference TEXT NOT NULL DEFAULT '', words TEXT NOT NULL DEFAULT '', at TEXT NOT NULL"
    ", who TEXT NOT NULL DEFAULT '') STRICT",
    // What was noted as paid is a payment of all that was asked for, tax rounded as it was on the bill.
    "INSERT INTO payment (revision, job_id, invoice_id, kind, amount, method, paid_on, at) SELECT 1, job_id, id, "
    "'payment', net + (net * tax_rate + 500000) / 1000000, 'not said', paid_on, paid_on || 'T12:00:00Z' FROM (SELECT id, "
    "job_id, tax_rate, paid_on, (SELECT coalesce(sum(amount), 0) FROM invoice_line WHERE invoice_id = invoice.id) AS net "
    "FROM invoice WHERE state = 'issued' AND paid_on IS NOT NULL) WHERE net > 0",
    "CREATE INDEX payment_job_id ON payment (job_id)",
    "CREATE INDEX payment_invoice_id ON payment (invoice_id)",

    "CREATE TABLE disposal (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", job_id INTEGER NOT NULL UNIQUE REFERENCES job, disposed_on TEXT NOT NULL, how TEXT NOT NULL CHECK (how <> '')"
    ", amount INTEGER, witness TEXT NOT NULL DEFAULT '', words TEXT NOT NULL DEFAULT ''"
    ", terms TEXT NOT NULL DEFAULT '', at TEXT NOT NULL, who TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TRIGGER disposal_stays BEFORE DELETE ON disposal BEGIN "
    "SELECT RAISE(ABORT, 'What became of a deck stays in the book.'); END",

    // The index for searching has room for eight kinds above 0; below it stands what was written of a job: -2 n is intake
    // n, -2 n - 1 finding n.
    "DROP TRIGGER search_job_added",
    "DROP TRIGGER search_job_changed",
    "CREATE TRIGGER search_job_added AFTER INSERT ON job BEGIN "
    "INSERT INTO search (rowid, words) VALUES (NEW.id * 8 + 4, " JOB_WORDS "); END",
    "CREATE TRIGGER search_job_changed AFTER UPDATE ON job BEGIN "
    "UPDATE search SET words = " JOB_WORDS " WHERE rowid = NEW.id * 8 + 4; END",
    "UPDATE search SET words = words || (SELECT ' ' || advice || ' ' || not_done FROM job WHERE id = search.rowid / 8) "
    "WHERE rowid % 8 = 4",

    "INSERT INTO search (rowid, words) SELECT id * -2, " INTAKE_WORDS " FROM intake",
    "CREATE TRIGGER search_intake_added AFTER INSERT ON intake BEGIN "
    "INSERT INTO search (rowid, words) VALUES (NEW.id * -2, " NEW_INTAKE_WORDS "); END",
    "CREATE TRIGGER search_intake_changed AFTER UPDATE ON intake BEGIN "
    "UPDATE search SET words = " NEW_INTAKE_WORDS " WHERE rowid = NEW.id * -2; END",
    "CREATE TRIGGER search_intake_removed AFTER DELETE ON intake BEGIN "
    "DELETE FROM search WHERE rowid = OLD.id * -2; END",

    "INSERT INTO search (rowid, words) SELECT id * -2 - 1, " FINDING_WORDS " FROM finding",
    "CREATE TRIGGER search_finding_added AFTER INSERT ON finding BEGIN "
    "INSERT INTO search (rowid, words) VALUES (NEW.id * -2 - 1, " NEW_FINDING_WORDS "); END",
    "CREATE TRIGGER search_finding_changed AFTER UPDATE ON finding BEGIN "
    "UPDATE search SET words = " NEW_FINDING_WORDS " WHERE rowid = NEW.id * -2 - 1; END",
    "CREATE TRIGGER search_finding_removed AFTER DELETE ON finding BEGIN "
    "DELETE FROM search WHERE rowid = OLD.id * -2 - 1; END",
    NULL,
};
