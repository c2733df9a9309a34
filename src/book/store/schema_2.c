// SPDX-License-Identifier: MIT
// Version 2 of the book: the index for searching by words. A row of the index is
// a row of its entity: rowid = id * 8 + the entity's place. This text is
// history: it is never edited (schema.c).
#include "book/store/schema.h"

#include <stddef.h>

// clang-format off
const char *const dw_schema_2[] = {
    // Letters with and without their accents find each other.
    "CREATE VIRTUAL TABLE search USING fts5 (words, tokenize = 'unicode61 remove_diacritics 2')",

    "INSERT INTO search (rowid, words) SELECT id * 8 + 0, name || ' ' || phone || ' ' || email FROM customer",
    "CREATE TRIGGER search_customer_added AFTER INSERT ON customer BEGIN "
    "INSERT INTO search (rowid, words) VALUES (NEW.id * 8 + 0, "
    "NEW.name || ' ' || NEW.phone || ' ' || NEW.email); END",
    "CREATE TRIGGER search_customer_changed AFTER UPDATE ON customer BEGIN "
    "UPDATE search SET words = NEW.name || ' ' || NEW.phone || ' ' || NEW.email "
    "WHERE rowid = NEW.id * 8 + 0; END",
    "CREATE TRIGGER search_customer_removed AFTER DELETE ON customer BEGIN "
    "DELETE FROM search WHERE rowid = OLD.id * 8 + 0; END",

    "INSERT INTO search (rowid, words) SELECT id * 8 + 1, make || ' ' || model || ' ' || variant || ' ' || serial FROM deck",
    "CREATE TRIGGER search_deck_added AFTER INSERT ON deck BEGIN "
    "INSERT INTO search (rowid, words) VALUES (NEW.id * 8 + 1, "
    "NEW.make || ' ' || NEW.model || ' ' || NEW.variant || ' ' || NEW.serial); END",
    "CREATE TRIGGER search_deck_changed AFTER UPDATE ON deck BEGIN "
    "UPDATE search SET words = NEW.make || ' ' || NEW.model || ' ' || NEW.variant || ' ' || NEW.serial "
    "WHERE rowid = NEW.id * 8 + 1; END",
    "CREATE TRIGGER search_deck_removed AFTER DELETE ON deck BEGIN "
    "DELETE FROM search WHERE rowid = OLD.id * 8 + 1; END",

    "INSERT INTO search (rowid, words) SELECT id * 8 + 2, make || ' ' || model || ' ' || serial FROM arm",
    "CREATE TRIGGER search_arm_added AFTER INSERT ON arm BEGIN "
    "INSERT INTO search (rowid, words) VALUES (NEW.id * 8 + 2, "
    "NEW.make || ' ' || NEW.model || ' ' || NEW.serial); END",
    "CREATE TRIGGER search_arm_changed AFTER UPDATE ON arm BEGIN "
    "UPDATE search SET words = NEW.make || ' ' || NEW.model || ' ' || NEW.serial "
    "WHERE rowid = NEW.id * 8 + 2; END",
    "CREATE TRIGGER search_arm_removed AFTER DELETE ON arm BEGIN "
    "DELETE FROM search WHERE rowid = OLD.id * 8 + 2; END",

    "INSERT INTO search (rowid, words) SELECT id * 8 + 3, make || ' ' || model || ' ' || serial FROM cartridge",
    "CREATE TRIGGER search_cartridge_added AFTER INSERT ON cartridge BEGIN "
    "INSERT INTO search (rowid, words) VALUES (NEW.id * 8 + 3, "
    "NEW.make || ' ' || NEW.model || ' ' || NEW.serial); END",
    "CREATE TRIGGER search_cartridge_changed AFTER UPDATE ON cartridge BEGIN "
    "UPDATE search SET words = NEW.make || ' ' || NEW.model || ' ' || NEW.serial "
    "WHERE rowid = NEW.id * 8 + 3; END",
    "CREATE TRIGGER search_cartridge_removed AFTER DELETE ON cartridge BEGIN "
    "DELETE FROM search WHERE rowid = OLD.id * 8 + 3; END",

    "INSERT INTO search (rowid, words) SELECT id * 8 + 4, format('%04d', number) || ' ' || number || ' ' || fault FROM job",
    "CREATE TRIGGER search_job_added AFTER INSERT ON job BEGIN "
    "INSERT INTO search (rowid, words) VALUES (NEW.id * 8 + 4, "
    "format('%04d', NEW.number) || ' ' || NEW.number || ' ' || NEW.fault); END",
    "CREATE TRIGGER search_job_changed AFTER UPDATE ON job BEGIN "
    "UPDATE search SET words = format('%04d', NEW.number) || ' ' || NEW.number || ' ' || NEW.fault "
    "WHERE rowid = NEW.id * 8 + 4; END",
    "CREATE TRIGGER search_job_removed AFTER DELETE ON job BEGIN "
    "DELETE FROM search WHERE rowid = OLD.id * 8 + 4; END",

    "INSERT INTO search (rowid, words) SELECT id * 8 + 5, number || ' ' || name || ' ' || fits || ' ' || value FROM stock",
    "CREATE TRIGGER search_stock_added AFTER INSERT ON stock BEGIN "
    "INSERT INTO search (rowid, words) VALUES (NEW.id * 8 + 5, "
    "NEW.number || ' ' || NEW.name || ' ' || NEW.fits || ' ' || NEW.value); END",
    "CREATE TRIGGER search_stock_changed AFTER UPDATE ON stock BEGIN "
    "UPDATE search SET words = NEW.number || ' ' || NEW.name || ' ' || NEW.fits || ' ' || NEW.value "
    "WHERE rowid = NEW.id * 8 + 5; END",
    "CREATE TRIGGER search_stock_removed AFTER DELETE ON stock BEGIN "
    "DELETE FROM search WHERE rowid = OLD.id * 8 + 5; END",
    NULL,
};
