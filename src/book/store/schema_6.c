// SPDX-License-Identifier: MIT
// Version 6 of the book: models of decks, what is known of each, and the faults that each usually has. This text is
// history: it is never edited (schema.c).
#include "book/store/schema.h"

#include <stddef.h>

// clang-format off
const char *const dw_schema_6[] = {
    "CREATE TABLE model (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL, make TEXT NOT NULL CHECK (make <> '')"
    ", name TEXT NOT NULL CHECK (name <> ''), drive TEXT NOT NULL CHECK (drive <> ''), class TEXT NOT NULL DEFAULT ''"
    ", motor TEXT NOT NULL DEFAULT '', speeds TEXT NOT NULL DEFAULT '', arm TEXT NOT NULL DEFAULT ''"
    ", note TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE model_value (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", model_id INTEGER NOT NULL REFERENCES model, about TEXT NOT NULL CHECK (about <> '')"
    ", key TEXT NOT NULL CHECK (key <> ''), label TEXT NOT NULL DEFAULT '', value TEXT NOT NULL CHECK (value <> '')"
    ", decks INTEGER NOT NULL DEFAULT 0, low REAL, high REAL, unit TEXT NOT NULL DEFAULT ''"
    ", source TEXT NOT NULL DEFAULT '', shared_by TEXT NOT NULL DEFAULT ''"
    ", UNIQUE (model_id, about, key, unit, shared_by)) STRICT",
    "CREATE TABLE model_fault (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", model_id INTEGER NOT NULL REFERENCES model, fault TEXT NOT NULL CHECK (fault <> '')"
    ", remedy TEXT NOT NULL DEFAULT '', seen INTEGER NOT NULL DEFAULT 0, shared_by TEXT NOT NULL DEFAULT ''"
    ", UNIQUE (model_id, fault, shared_by)) STRICT",
    // A model is one, however its name is typed.
    "CREATE UNIQUE INDEX model_name ON model (make COLLATE NOCASE, name COLLATE NOCASE)",
    "CREATE INDEX deck_model ON deck (make COLLATE NOCASE, model COLLATE NOCASE)",
    "CREATE TRIGGER search_model_added AFTER INSERT ON model BEGIN "
    "INSERT INTO search (rowid, words) VALUES (NEW.id * 8 + 6, NEW.make || ' ' || NEW.name); END",
    "CREATE TRIGGER search_model_changed AFTER UPDATE ON model BEGIN "
    "UPDATE search SET words = NEW.make || ' ' || NEW.name WHERE rowid = NEW.id * 8 + 6; END",
    "CREATE TRIGGER search_model_removed AFTER DELETE ON model BEGIN "
    "DELETE FROM search WHERE rowid = OLD.id * 8 + 6; END",
    NULL,
};
