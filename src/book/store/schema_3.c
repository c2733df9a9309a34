// SPDX-License-Identifier: MIT
// Version 3 of the book: the shop's own wording on a job's papers, how a deck is
// set, the screens that are paired with the book, and what is measured on a
// photograph. This text is history: it is never edited (schema.c).
#include "book/store/schema.h"

#include <stddef.h>

// clang-format off
const char *const dw_schema_3[] = {
    "CREATE TABLE wording (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", job_id INTEGER NOT NULL REFERENCES job, paper TEXT NOT NULL CHECK (paper <> '')"
    ", key TEXT NOT NULL CHECK (key <> ''), locale TEXT NOT NULL DEFAULT '', text TEXT NOT NULL DEFAULT ''"
    ", UNIQUE (job_id, paper, key, locale)) STRICT",
    "CREATE TABLE set_up (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", job_id INTEGER NOT NULL REFERENCES job, phase TEXT NOT NULL CHECK (phase <> '')"
    ", key TEXT NOT NULL CHECK (key <> ''), label TEXT NOT NULL DEFAULT '', value TEXT NOT NULL CHECK (value <> '')"
    ", unit TEXT NOT NULL DEFAULT '', instrument TEXT NOT NULL DEFAULT '', method TEXT NOT NULL DEFAULT ''"
    ", remark TEXT NOT NULL DEFAULT '', at TEXT NOT NULL, who TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE device (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL, name TEXT NOT NULL CHECK (name <> '')"
    ", token_hash TEXT NOT NULL UNIQUE CHECK (token_hash <> ''), paired_at TEXT NOT NULL, last_seen_at TEXT"
    ", revoked_at TEXT) STRICT",
    // They say something about one picture only and go with it.
    "CREATE TABLE photo_scale (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", attachment_id INTEGER NOT NULL REFERENCES attachment ON DELETE CASCADE, x1 REAL NOT NULL, y1 REAL NOT NULL"
    ", x2 REAL NOT NULL, y2 REAL NOT NULL, length_mm REAL NOT NULL CHECK (length_mm > 0)"
    ", mm_per_pixel REAL NOT NULL CHECK (mm_per_pixel > 0), reference TEXT NOT NULL DEFAULT '', at TEXT NOT NULL"
    ", who TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE photo_measure (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", attachment_id INTEGER NOT NULL REFERENCES attachment ON DELETE CASCADE, kind TEXT NOT NULL CHECK (kind <> '')"
    ", name TEXT NOT NULL DEFAULT '', x1 REAL NOT NULL, y1 REAL NOT NULL, x2 REAL NOT NULL, y2 REAL NOT NULL"
    ", x3 REAL, y3 REAL, x4 REAL, y4 REAL, mm_per_pixel REAL, value REAL NOT NULL, unit TEXT NOT NULL"
    ", uncertainty REAL, remark TEXT NOT NULL DEFAULT '', at TEXT NOT NULL, who TEXT NOT NULL DEFAULT '') STRICT",

    "CREATE TRIGGER set_up_stays BEFORE DELETE ON set_up BEGIN "
    "SELECT RAISE(ABORT, 'How a deck was set is only added to. Note the setting again.'); END",
    "CREATE TRIGGER set_up_unchanged BEFORE UPDATE ON set_up BEGIN "
    "SELECT RAISE(ABORT, 'How a deck was set is only added to. Note the setting again.'); END",
    "CREATE TRIGGER device_stays BEFORE DELETE ON device BEGIN "
    "SELECT RAISE(ABORT, 'A screen stays on the list. Revoke it.'); END",
    "CREATE TRIGGER device_unchanged BEFORE UPDATE OF token_hash, paired_at ON device BEGIN "
    "SELECT RAISE(ABORT, 'A screen keeps its key. Revoke it and pair it again.'); END",
    "CREATE TRIGGER device_revoked_once BEFORE UPDATE OF revoked_at ON device WHEN OLD.revoked_at IS NOT NULL BEGIN "
    "SELECT RAISE(ABORT, 'The screen was revoked already. Pair it again.'); END",
    "CREATE TRIGGER photo_scale_unchanged BEFORE UPDATE ON photo_scale BEGIN "
    "SELECT RAISE(ABORT, 'The scale of a picture is not changed. Set it again.'); END",
    "CREATE TRIGGER photo_measure_unchanged BEFORE UPDATE ON photo_measure BEGIN "
    "SELECT RAISE(ABORT, 'What was measured on a picture is not changed. Measure again.'); END",

    "CREATE INDEX set_up_job_id ON set_up (job_id, phase, key)",
    "CREATE INDEX photo_scale_attachment_id ON photo_scale (attachment_id)",
    "CREATE INDEX photo_measure_attachment_id ON photo_measure (attachment_id)",
    NULL,
};
