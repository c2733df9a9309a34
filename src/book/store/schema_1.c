// SPDX-License-Identifier: MIT
// Version 1 of the book: tables, what keeps evidence unchanged, indexes. This
// text is history: it is never edited (schema.c).
#include "book/store/schema.h"

#include <stddef.h>

// clang-format off
const char *const dw_schema_1[] = {
    "CREATE TABLE customer (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL, name TEXT NOT NULL DEFAULT ''"
    ", phone TEXT NOT NULL DEFAULT '', email TEXT NOT NULL DEFAULT '', address TEXT NOT NULL DEFAULT ''"
    ", route TEXT NOT NULL CHECK (route <> ''), may_collect TEXT NOT NULL DEFAULT ''"
    ", keep_photos INTEGER NOT NULL DEFAULT 0 CHECK (keep_photos IN (0, 1))"
    ", publish_photos INTEGER NOT NULL DEFAULT 0 CHECK (publish_photos IN (0, 1))"
    ", marketing INTEGER NOT NULL DEFAULT 0 CHECK (marketing IN (0, 1)), note TEXT NOT NULL DEFAULT ''"
    ", erased_on TEXT) STRICT",
    "CREATE TABLE deck (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL, make TEXT NOT NULL DEFAULT ''"
    ", model TEXT NOT NULL DEFAULT '', variant TEXT NOT NULL DEFAULT '', serial TEXT NOT NULL DEFAULT ''"
    ", made_year INTEGER NOT NULL DEFAULT 0, drive TEXT NOT NULL CHECK (drive <> '')"
    ", operation TEXT NOT NULL CHECK (operation <> ''), class TEXT NOT NULL DEFAULT ''"
    ", motor TEXT NOT NULL DEFAULT '', rated_voltage_v REAL, rated_frequency_hz REAL, plug TEXT NOT NULL DEFAULT ''"
    ", pulley_marking TEXT NOT NULL DEFAULT '', speeds TEXT NOT NULL DEFAULT ''"
    ", supply_as_left TEXT NOT NULL DEFAULT '', parts_present TEXT NOT NULL DEFAULT ''"
    ", lesson TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE ownership (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", deck_id INTEGER NOT NULL REFERENCES deck, customer_id INTEGER NOT NULL REFERENCES customer"
    ", since TEXT NOT NULL, until TEXT) STRICT",
    "CREATE TABLE deck_value (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", deck_id INTEGER NOT NULL REFERENCES deck, key TEXT NOT NULL DEFAULT '', value TEXT NOT NULL DEFAULT ''"
    ", UNIQUE (deck_id, key)) STRICT",
    "CREATE TABLE arm (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL, deck_id INTEGER REFERENCES deck"
    ", make TEXT NOT NULL DEFAULT '', model TEXT NOT NULL DEFAULT '', serial TEXT NOT NULL DEFAULT ''"
    ", pivot_to_spindle_mm REAL, effective_length_mm REAL, headshell TEXT NOT NULL CHECK (headshell <> '')"
    ", counterweights TEXT NOT NULL DEFAULT '', anti_skate TEXT NOT NULL DEFAULT '', cables TEXT NOT NULL DEFAULT ''"
    ", bearing_rule TEXT NOT NULL DEFAULT '', note TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE cartridge (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL, deck_id INTEGER REFERENCES deck"
    ", make TEXT NOT NULL DEFAULT '', model TEXT NOT NULL DEFAULT '', serial TEXT NOT NULL DEFAULT ''"
    ", kind TEXT NOT NULL CHECK (kind <> ''), force_low_mn REAL, force_high_mn REAL, note TEXT NOT NULL DEFAULT ''"
    ") STRICT",
    "CREATE TABLE stylus (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", cartridge_id INTEGER NOT NULL REFERENCES cartridge, model TEXT NOT NULL DEFAULT ''"
    ", profile TEXT NOT NULL DEFAULT '', origin TEXT NOT NULL CHECK (origin <> ''), bought_on TEXT, fitted_on TEXT"
    ", removed_on TEXT, hours REAL, rated_hours REAL, hours_from TEXT NOT NULL CHECK (hours_from <> '')"
    ", guard_present INTEGER NOT NULL DEFAULT 0 CHECK (guard_present IN (0, 1))"
    ", grade TEXT NOT NULL CHECK (grade <> ''), inspected_on TEXT, next_due_on TEXT, note TEXT NOT NULL DEFAULT ''"
    ") STRICT",
    "CREATE TABLE bound (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL, class TEXT NOT NULL DEFAULT ''"
    ", make TEXT NOT NULL DEFAULT '', model TEXT NOT NULL DEFAULT '', key TEXT NOT NULL DEFAULT '', low REAL"
    ", high REAL, good_low REAL, good_high REAL, source TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE test_record (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", name TEXT NOT NULL UNIQUE CHECK (name <> ''), title TEXT NOT NULL DEFAULT ''"
    ", catalogue_number TEXT NOT NULL DEFAULT '', maker TEXT NOT NULL DEFAULT '', country TEXT NOT NULL DEFAULT ''"
    ", copy TEXT NOT NULL CHECK (copy <> ''), plays INTEGER NOT NULL DEFAULT 0, eccentricity_mm REAL"
    ", level_error_db REAL, tone_error REAL, bought_on TEXT, retired_on TEXT, note TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE instrument (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", name TEXT NOT NULL UNIQUE CHECK (name <> ''), kind TEXT NOT NULL DEFAULT '', serial TEXT NOT NULL DEFAULT ''"
    ", resolution REAL, uncertainty REAL, unit TEXT NOT NULL DEFAULT '', check_days INTEGER NOT NULL DEFAULT 0"
    ", retired_on TEXT, note TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE instrument_check (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", instrument_id INTEGER NOT NULL REFERENCES instrument, checked_on TEXT NOT NULL"
    ", reference TEXT NOT NULL DEFAULT '', expected REAL NOT NULL, found REAL NOT NULL, tolerance REAL NOT NULL"
    ", unit TEXT NOT NULL DEFAULT '', passed INTEGER NOT NULL DEFAULT 0 CHECK (passed IN (0, 1))"
    ", who TEXT NOT NULL DEFAULT '', note TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE chain (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", name TEXT NOT NULL UNIQUE CHECK (name <> ''), preamplifier TEXT NOT NULL DEFAULT ''"
    ", interface TEXT NOT NULL DEFAULT '', gain_db REAL, rate_hz REAL, bits INTEGER NOT NULL DEFAULT 0"
    ", equalisation TEXT NOT NULL CHECK (equalisation <> ''), clock_error REAL, checked_on TEXT"
    ", note TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE stock (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", number TEXT NOT NULL UNIQUE CHECK (number <> ''), name TEXT NOT NULL DEFAULT ''"
    ", kind TEXT NOT NULL CHECK (kind <> ''), profile TEXT NOT NULL CHECK (profile <> ''), inner_length_mm REAL"
    ", width_mm REAL, thickness_mm REAL, value TEXT NOT NULL DEFAULT '', fits TEXT NOT NULL DEFAULT ''"
    ", supplier TEXT NOT NULL DEFAULT '', lead_days INTEGER NOT NULL DEFAULT 0, cost INTEGER, price INTEGER"
    ", shelf TEXT NOT NULL DEFAULT '', unit TEXT NOT NULL DEFAULT '', on_hand REAL, least REAL"
    ", batch TEXT NOT NULL DEFAULT '', opened_on TEXT, note TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE job (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", number INTEGER NOT NULL UNIQUE CHECK (number > 0), customer_id INTEGER NOT NULL REFERENCES customer"
    ", deck_id INTEGER REFERENCES deck, warranty_of_id INTEGER REFERENCES job, kind TEXT NOT NULL CHECK (kind <> '')"
    ", priority TEXT NOT NULL CHECK (priority <> ''), state TEXT NOT NULL CHECK (state <> '')"
    ", waiting_for TEXT NOT NULL DEFAULT '', state_since TEXT, opened_at TEXT, place TEXT NOT NULL DEFAULT ''"
    ", screws_place TEXT NOT NULL DEFAULT '', promised_on TEXT, owner_told_at TEXT"
    ", technician TEXT NOT NULL DEFAULT '', fault TEXT NOT NULL DEFAULT '', not_done TEXT NOT NULL DEFAULT ''"
    ", advice TEXT NOT NULL DEFAULT '', next_due_on TEXT) STRICT",
    "CREATE TABLE stage (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL, job_id INTEGER NOT NULL REFERENCES job"
    ", state TEXT NOT NULL CHECK (state <> ''), waiting_for TEXT NOT NULL DEFAULT '', note TEXT NOT NULL DEFAULT ''"
    ", at TEXT NOT NULL, who TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE contact (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL, job_id INTEGER NOT NULL REFERENCES job"
    ", at TEXT NOT NULL, who TEXT NOT NULL DEFAULT '', how TEXT NOT NULL CHECK (how <> '')"
    ", words TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE intake (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", job_id INTEGER NOT NULL UNIQUE REFERENCES job, at TEXT NOT NULL, received_by TEXT NOT NULL DEFAULT ''"
    ", arrived TEXT NOT NULL CHECK (arrived <> ''), parcel TEXT NOT NULL DEFAULT '', words TEXT NOT NULL DEFAULT ''"
    ", since_when TEXT NOT NULL DEFAULT '', worked_last TEXT NOT NULL DEFAULT ''"
    ", changed_lately TEXT NOT NULL DEFAULT '', prior_repairer TEXT NOT NULL DEFAULT ''"
    ", system TEXT NOT NULL DEFAULT '', wish TEXT NOT NULL CHECK (wish <> ''), ceiling INTEGER"
    ", contact_before INTEGER, stylus_damaged INTEGER NOT NULL DEFAULT 0 CHECK (stylus_damaged IN (0, 1))"
    ", irreplaceable INTEGER NOT NULL DEFAULT 0 CHECK (irreplaceable IN (0, 1))"
    ", courier_damage INTEGER NOT NULL DEFAULT 0 CHECK (courier_damage IN (0, 1))"
    ", sentimental INTEGER NOT NULL DEFAULT 0 CHECK (sentimental IN (0, 1))"
    ", dispute INTEGER NOT NULL DEFAULT 0 CHECK (dispute IN (0, 1))"
    ", modified_mains INTEGER NOT NULL DEFAULT 0 CHECK (modified_mains IN (0, 1)), smell TEXT NOT NULL DEFAULT ''"
    ", earlier_repair TEXT NOT NULL DEFAULT ''"
    ", none_other_received INTEGER NOT NULL DEFAULT 0 CHECK (none_other_received IN (0, 1))"
    ", list_correct INTEGER NOT NULL DEFAULT 0 CHECK (list_correct IN (0, 1))"
    ", terms_accepted INTEGER NOT NULL DEFAULT 0 CHECK (terms_accepted IN (0, 1))"
    ", estimate_charge_told INTEGER NOT NULL DEFAULT 0 CHECK (estimate_charge_told IN (0, 1))"
    ", storage_charge_told INTEGER NOT NULL DEFAULT 0 CHECK (storage_charge_told IN (0, 1))) STRICT",
    "CREATE TABLE accessory (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", intake_id INTEGER NOT NULL REFERENCES intake, name TEXT NOT NULL DEFAULT ''"
    ", received INTEGER NOT NULL DEFAULT 0 CHECK (received IN (0, 1)), note TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE mark (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", intake_id INTEGER NOT NULL REFERENCES intake, zone TEXT NOT NULL CHECK (zone <> '')"
    ", kind TEXT NOT NULL CHECK (kind <> ''), across REAL, along REAL, note TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE measurement (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", job_id INTEGER NOT NULL REFERENCES job, phase TEXT NOT NULL CHECK (phase <> '')"
    ", procedure TEXT NOT NULL DEFAULT '', title TEXT NOT NULL DEFAULT '', subject TEXT NOT NULL DEFAULT ''"
    ", test_record TEXT NOT NULL DEFAULT '', chain TEXT NOT NULL DEFAULT '', instrument TEXT NOT NULL DEFAULT ''"
    ", speed TEXT NOT NULL DEFAULT '', at TEXT NOT NULL, who TEXT NOT NULL DEFAULT '', sheet TEXT NOT NULL DEFAULT ''"
    ", withdrawn_at TEXT, withdrawn_why TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE reading (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", measurement_id INTEGER NOT NULL REFERENCES measurement, key TEXT NOT NULL DEFAULT ''"
    ", label TEXT NOT NULL DEFAULT '', value REAL, word TEXT NOT NULL DEFAULT '', unit TEXT NOT NULL DEFAULT ''"
    ", digits INTEGER NOT NULL DEFAULT 0, uncertainty REAL, flags INTEGER NOT NULL DEFAULT 0, low REAL, high REAL"
    ", good_low REAL, good_high REAL, source TEXT NOT NULL DEFAULT '', grade TEXT NOT NULL CHECK (grade <> '')"
    ", method TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE verdict (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL, job_id INTEGER NOT NULL REFERENCES job"
    ", item TEXT NOT NULL DEFAULT '', aspect TEXT NOT NULL CHECK (aspect <> '')"
    ", phase TEXT NOT NULL CHECK (phase <> ''), grade TEXT NOT NULL CHECK (grade <> '')"
    ", evidence TEXT NOT NULL DEFAULT '', action TEXT NOT NULL DEFAULT '', at TEXT NOT NULL"
    ", who TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE acknowledgement (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", verdict_id INTEGER NOT NULL UNIQUE REFERENCES verdict, person TEXT NOT NULL CHECK (person <> '')"
    ", words TEXT NOT NULL CHECK (words <> ''), at TEXT NOT NULL, who TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE finding (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL, job_id INTEGER NOT NULL REFERENCES job"
    ", symptom TEXT NOT NULL DEFAULT '', confirmed TEXT NOT NULL CHECK (confirmed <> '')"
    ", test TEXT NOT NULL DEFAULT '', cause TEXT NOT NULL DEFAULT ''"
    ", confidence TEXT NOT NULL CHECK (confidence <> ''), action TEXT NOT NULL DEFAULT ''"
    ", after TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE operation (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", job_id INTEGER NOT NULL REFERENCES job, name TEXT NOT NULL DEFAULT ''"
    ", quoted_minutes INTEGER NOT NULL DEFAULT 0, actual_minutes INTEGER NOT NULL DEFAULT 0, done_at TEXT"
    ", who TEXT NOT NULL DEFAULT '', note TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE lubrication (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", job_id INTEGER NOT NULL REFERENCES job, point TEXT NOT NULL DEFAULT '', lubricant TEXT NOT NULL DEFAULT ''"
    ", quantity_ml REAL, drops REAL, note TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE part (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL, job_id INTEGER NOT NULL REFERENCES job"
    ", stock_id INTEGER REFERENCES stock, name TEXT NOT NULL DEFAULT '', quantity REAL NOT NULL"
    ", condition TEXT NOT NULL CHECK (condition <> ''), batch TEXT NOT NULL DEFAULT '', price INTEGER"
    ", old_part TEXT NOT NULL CHECK (old_part <> ''), note TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE stock_move (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", stock_id INTEGER NOT NULL REFERENCES stock, job_id INTEGER REFERENCES job, change REAL NOT NULL"
    ", why TEXT NOT NULL DEFAULT '', at TEXT NOT NULL, who TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE estimate (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL, job_id INTEGER NOT NULL REFERENCES job"
    ", version INTEGER NOT NULL DEFAULT 0, state TEXT NOT NULL CHECK (state <> ''), issued_on TEXT, valid_until TEXT"
    ", tax_rate INTEGER NOT NULL DEFAULT 0, ceiling INTEGER, replacement_value INTEGER"
    ", words TEXT NOT NULL DEFAULT '', UNIQUE (job_id, version)) STRICT",
    "CREATE TABLE estimate_line (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", estimate_id INTEGER NOT NULL REFERENCES estimate, tier TEXT NOT NULL CHECK (tier <> '')"
    ", kind TEXT NOT NULL CHECK (kind <> ''), name TEXT NOT NULL DEFAULT '', minutes INTEGER NOT NULL DEFAULT 0"
    ", quantity REAL, price INTEGER, amount INTEGER NOT NULL) STRICT",
    "CREATE TABLE consent (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL, job_id INTEGER NOT NULL REFERENCES job"
    ", estimate_id INTEGER REFERENCES estimate, tier TEXT NOT NULL CHECK (tier <> '')"
    ", answer TEXT NOT NULL CHECK (answer <> ''), amount INTEGER, person TEXT NOT NULL DEFAULT ''"
    ", how TEXT NOT NULL CHECK (how <> ''), contact TEXT NOT NULL DEFAULT '', words TEXT NOT NULL DEFAULT ''"
    ", at TEXT NOT NULL, who TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE invoice (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL, job_id INTEGER NOT NULL REFERENCES job"
    ", number INTEGER NOT NULL DEFAULT 0, state TEXT NOT NULL CHECK (state <> ''), issued_on TEXT"
    ", customer_name TEXT NOT NULL DEFAULT '', customer_address TEXT NOT NULL DEFAULT ''"
    ", tax_rate INTEGER NOT NULL DEFAULT 0, paid_on TEXT, corrects_id INTEGER REFERENCES invoice"
    ", words TEXT NOT NULL DEFAULT '', warranty_from TEXT, warranty_until TEXT"
    ", warranty_covers TEXT NOT NULL DEFAULT '', warranty_excludes TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE invoice_line (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL"
    ", invoice_id INTEGER NOT NULL REFERENCES invoice, kind TEXT NOT NULL CHECK (kind <> '')"
    ", name TEXT NOT NULL DEFAULT '', minutes INTEGER NOT NULL DEFAULT 0, quantity REAL, price INTEGER"
    ", amount INTEGER NOT NULL) STRICT",
    "CREATE TABLE notice (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL, job_id INTEGER NOT NULL REFERENCES job"
    ", kind TEXT NOT NULL CHECK (kind <> ''), sent_on TEXT NOT NULL, how TEXT NOT NULL CHECK (how <> '')"
    ", words TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE attachment (id INTEGER PRIMARY KEY, revision INTEGER NOT NULL, job_id INTEGER REFERENCES job"
    ", deck_id INTEGER REFERENCES deck, stylus_id INTEGER REFERENCES stylus, kind TEXT NOT NULL CHECK (kind <> '')"
    ", phase TEXT NOT NULL CHECK (phase <> ''), position INTEGER NOT NULL DEFAULT 0, caption TEXT NOT NULL DEFAULT ''"
    ", scale_um_per_pixel REAL, personal INTEGER NOT NULL DEFAULT 0 CHECK (personal IN (0, 1))"
    ", original_name TEXT NOT NULL DEFAULT '', file TEXT NOT NULL UNIQUE CHECK (file <> '')"
    ", bytes INTEGER NOT NULL DEFAULT 0, digest TEXT NOT NULL DEFAULT '', at TEXT NOT NULL"
    ", who TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE TABLE setting (key TEXT PRIMARY KEY NOT NULL, value TEXT NOT NULL) STRICT",
    "CREATE TABLE journal (id INTEGER PRIMARY KEY, at TEXT NOT NULL, who TEXT NOT NULL, entity TEXT NOT NULL"
    ", row_id INTEGER NOT NULL, field TEXT NOT NULL, old_value TEXT NOT NULL, new_value TEXT NOT NULL"
    ", personal INTEGER NOT NULL CHECK (personal IN (0, 1))) STRICT",
    // Files whose rows are gone, until they are off the disk too.
    "CREATE TABLE doomed_file (file TEXT PRIMARY KEY NOT NULL) STRICT",

    // What happened cannot be made not to have happened. Only a person's data may
    // be blanked, and only with one word.
    "CREATE TRIGGER journal_stays BEFORE DELETE ON journal BEGIN "
    "SELECT RAISE(ABORT, 'The journal is only added to.'); END",
    "CREATE TRIGGER stage_stays BEFORE DELETE ON stage BEGIN "
    "SELECT RAISE(ABORT, 'The stages of a job are only added to.'); END",
    "CREATE TRIGGER contact_stays BEFORE DELETE ON contact BEGIN "
    "SELECT RAISE(ABORT, 'What the owner was told is only added to.'); END",
    "CREATE TRIGGER consent_stays BEFORE DELETE ON consent BEGIN "
    "SELECT RAISE(ABORT, 'The consent log is only added to.'); END",
    "CREATE TRIGGER acknowledgement_stays BEFORE DELETE ON acknowledgement BEGIN "
    "SELECT RAISE(ABORT, 'An acknowledgement is not taken back. Give the item another verdict.'); END",
    "CREATE TRIGGER stock_move_stays BEFORE DELETE ON stock_move BEGIN "
    "SELECT RAISE(ABORT, 'A movement of stock is not taken back. Book another one.'); END",
    "CREATE TRIGGER reading_stays BEFORE DELETE ON reading BEGIN "
    "SELECT RAISE(ABORT, 'A reading is evidence and is not removed.'); END",
    "CREATE TRIGGER measurement_stays BEFORE DELETE ON measurement BEGIN "
    "SELECT RAISE(ABORT, 'A measurement is evidence and is not removed. Withdraw it with a reason.'); END",
    "CREATE TRIGGER verdict_stays BEFORE DELETE ON verdict BEGIN "
    "SELECT RAISE(ABORT, 'A verdict is not taken back. Give the item another one.'); END",
    "CREATE TRIGGER stage_unchanged BEFORE UPDATE ON stage BEGIN "
    "SELECT RAISE(ABORT, 'The stages of a job are only added to.'); END",
    "CREATE TRIGGER stock_move_unchanged BEFORE UPDATE ON stock_move BEGIN "
    "SELECT RAISE(ABORT, 'A movement of stock is not changed. Book another one.'); END",
    "CREATE TRIGGER reading_unchanged BEFORE UPDATE ON reading BEGIN "
    "SELECT RAISE(ABORT, 'A reading is evidence and is not changed.'); END",
    "CREATE TRIGGER journal_unchanged BEFORE UPDATE ON journal WHEN NOT (NEW.id IS OLD.id AND NEW.at IS "
    "OLD.at AND NEW.who IS OLD.who AND NEW.entity IS OLD.entity AND NEW.row_id IS OLD.row_id AND NEW.field IS"
    " OLD.field AND NEW.personal IS OLD.personal AND (NEW.old_value = OLD.old_value OR NEW.old_value = "
    "'(erased)' AND OLD.personal = 1) AND (NEW.new_value = OLD.new_value OR NEW.new_value = '(erased)' AND "
    "OLD.personal = 1)) BEGIN SELECT RAISE(ABORT, 'The journal is only added to.'); END",
    "CREATE TRIGGER contact_unchanged BEFORE UPDATE ON contact WHEN NOT (NEW.id IS OLD.id AND NEW.job_id IS "
    "OLD.job_id AND NEW.at IS OLD.at AND NEW.who IS OLD.who AND NEW.how IS OLD.how AND (NEW.words = OLD.words"
    " OR NEW.words = '(erased)')) BEGIN SELECT RAISE(ABORT, 'What the owner was told is only added to.'); END",
    "CREATE TRIGGER consent_unchanged BEFORE UPDATE ON consent WHEN NOT (NEW.id IS OLD.id AND NEW.job_id IS "
    "OLD.job_id AND NEW.estimate_id IS OLD.estimate_id AND NEW.tier IS OLD.tier AND NEW.answer IS OLD.answer "
    "AND NEW.amount IS OLD.amount AND NEW.how IS OLD.how AND NEW.at IS OLD.at AND NEW.who IS OLD.who AND "
    "(NEW.person = OLD.person OR NEW.person = '(erased)') AND (NEW.contact = OLD.contact OR NEW.contact = "
    "'(erased)') AND (NEW.words = OLD.words OR NEW.words = '(erased)')) BEGIN "
    "SELECT RAISE(ABORT, 'The consent log is only added to.'); END",
    "CREATE TRIGGER acknowledgement_unchanged BEFORE UPDATE ON acknowledgement WHEN NOT (NEW.id IS OLD.id AND"
    " NEW.verdict_id IS OLD.verdict_id AND NEW.words IS OLD.words AND NEW.at IS OLD.at AND NEW.who IS OLD.who"
    " AND (NEW.person = OLD.person OR NEW.person = '(erased)')) BEGIN "
    "SELECT RAISE(ABORT, 'An acknowledgement is not changed.'); END",
    "CREATE TRIGGER measurement_unchanged BEFORE UPDATE OF job_id, phase, procedure, title, subject, "
    "test_record, chain, instrument, speed, at, who, sheet ON measurement BEGIN "
    "SELECT RAISE(ABORT, 'A measurement is evidence and is not changed. Withdraw it and measure again.'); END",
    "CREATE TRIGGER measurement_withdrawn_once BEFORE UPDATE OF withdrawn_at, withdrawn_why ON measurement "
    "WHEN OLD.withdrawn_at IS NOT NULL BEGIN SELECT RAISE(ABORT, 'The measurement was withdrawn already.'); END",
    "CREATE TRIGGER verdict_unchanged BEFORE UPDATE OF job_id, item, aspect, phase, grade, at, who ON verdict BEGIN "
    "SELECT RAISE(ABORT, 'A verdict is not changed. Give the item another one.'); END",
    "CREATE TRIGGER estimate_line_insert BEFORE INSERT ON estimate_line WHEN (SELECT state FROM estimate "
    "WHERE id = NEW.estimate_id) <> 'draft' BEGIN "
    "SELECT RAISE(ABORT, 'The estimate was given out and is not changed. Start another version.'); END",
    "CREATE TRIGGER invoice_line_insert BEFORE INSERT ON invoice_line WHEN (SELECT state FROM invoice WHERE "
    "id = NEW.invoice_id) <> 'draft' BEGIN "
    "SELECT RAISE(ABORT, 'The invoice was issued and is not changed. Correct it with another one.'); END",
    "CREATE TRIGGER estimate_line_update BEFORE UPDATE ON estimate_line WHEN (SELECT state FROM estimate "
    "WHERE id = OLD.estimate_id) <> 'draft' BEGIN "
    "SELECT RAISE(ABORT, 'The estimate was given out and is not changed. Start another version.'); END",
    "CREATE TRIGGER invoice_line_update BEFORE UPDATE ON invoice_line WHEN (SELECT state FROM invoice WHERE "
    "id = OLD.invoice_id) <> 'draft' BEGIN "
    "SELECT RAISE(ABORT, 'The invoice was issued and is not changed. Correct it with another one.'); END",
    "CREATE TRIGGER estimate_line_delete BEFORE DELETE ON estimate_line WHEN (SELECT state FROM estimate "
    "WHERE id = OLD.estimate_id) <> 'draft' BEGIN "
    "SELECT RAISE(ABORT, 'The estimate was given out and is not changed. Start another version.'); END",
    "CREATE TRIGGER invoice_line_delete BEFORE DELETE ON invoice_line WHEN (SELECT state FROM invoice WHERE "
    "id = OLD.invoice_id) <> 'draft' BEGIN "
    "SELECT RAISE(ABORT, 'The invoice was issued and is not changed. Correct it with another one.'); END",
    "CREATE TRIGGER estimate_unchanged BEFORE UPDATE OF job_id, version, issued_on, valid_until, tax_rate, "
    "ceiling, replacement_value, words ON estimate WHEN OLD.state <> 'draft' BEGIN "
    "SELECT RAISE(ABORT, 'The estimate was given out and is not changed. Start another version.'); END",
    "CREATE TRIGGER estimate_stays BEFORE DELETE ON estimate WHEN OLD.state <> 'draft' BEGIN "
    "SELECT RAISE(ABORT, 'The estimate was given out and stays in the book.'); END",
    "CREATE TRIGGER invoice_unchanged BEFORE UPDATE OF job_id, number, state, issued_on, tax_rate, "
    "corrects_id, words, warranty_from, warranty_until, warranty_covers, warranty_excludes ON invoice WHEN "
    "OLD.state <> 'draft' BEGIN "
    "SELECT RAISE(ABORT, 'The invoice was issued and is not changed. Correct it with another one.'); END",
    "CREATE TRIGGER invoice_name_unchanged BEFORE UPDATE OF customer_name, customer_address ON invoice WHEN "
    "OLD.state <> 'draft' AND NOT ((NEW.customer_name = OLD.customer_name OR NEW.customer_name = '(erased)') "
    "AND (NEW.customer_address = OLD.customer_address OR NEW.customer_address = '(erased)')) BEGIN "
    "SELECT RAISE(ABORT, 'The invoice was issued and is not changed. Correct it with another one.'); END",
    "CREATE TRIGGER invoice_stays BEFORE DELETE ON invoice WHEN OLD.state <> 'draft' BEGIN "
    "SELECT RAISE(ABORT, 'The invoice was issued and stays in the book.'); END",
    "CREATE TRIGGER job_unsafe_stays BEFORE UPDATE OF state ON job WHEN NEW.state IN ('ready', 'handed over')"
    " AND EXISTS (SELECT 1 FROM verdict AS v WHERE v.job_id = NEW.id AND v.grade = 'unsafe' AND v.id = "
    "(SELECT max(id) FROM verdict WHERE job_id = v.job_id AND item = v.item) AND NOT EXISTS (SELECT 1 FROM "
    "acknowledgement WHERE verdict_id = v.id)) BEGIN "
    "SELECT RAISE(ABORT, 'An item of this job is unsafe. Make it safe, or write down who was told that it "
    "leaves unsafe.'); END",
    "CREATE TRIGGER verdict_unsafe_not_ready BEFORE INSERT ON verdict WHEN NEW.grade = 'unsafe' AND (SELECT "
    "state FROM job WHERE id = NEW.job_id) = 'ready' BEGIN "
    "SELECT RAISE(ABORT, 'The job is ready. Take it back to verifying before an item is called unsafe.'); END",

    "CREATE INDEX ownership_deck_id ON ownership (deck_id)",
    "CREATE INDEX ownership_customer_id ON ownership (customer_id)",
    "CREATE INDEX arm_deck_id ON arm (deck_id)",
    "CREATE INDEX cartridge_deck_id ON cartridge (deck_id)",
    "CREATE INDEX stylus_cartridge_id ON stylus (cartridge_id)",
    "CREATE INDEX instrument_check_instrument_id ON instrument_check (instrument_id)",
    "CREATE INDEX job_customer_id ON job (customer_id)",
    "CREATE INDEX job_deck_id ON job (deck_id)",
    "CREATE INDEX job_warranty_of_id ON job (warranty_of_id)",
    "CREATE INDEX stage_job_id ON stage (job_id)",
    "CREATE INDEX contact_job_id ON contact (job_id)",
    "CREATE INDEX accessory_intake_id ON accessory (intake_id)",
    "CREATE INDEX mark_intake_id ON mark (intake_id)",
    "CREATE INDEX measurement_job_id ON measurement (job_id)",
    "CREATE INDEX reading_measurement_id ON reading (measurement_id)",
    "CREATE INDEX verdict_job_id ON verdict (job_id)",
    "CREATE INDEX finding_job_id ON finding (job_id)",
    "CREATE INDEX operation_job_id ON operation (job_id)",
    "CREATE INDEX lubrication_job_id ON lubrication (job_id)",
    "CREATE INDEX part_job_id ON part (job_id)",
    "CREATE INDEX part_stock_id ON part (stock_id)",
    "CREATE INDEX stock_move_stock_id ON stock_move (stock_id)",
    "CREATE INDEX stock_move_job_id ON stock_move (job_id)",
    "CREATE INDEX estimate_line_estimate_id ON estimate_line (estimate_id)",
    "CREATE INDEX consent_job_id ON consent (job_id)",
    "CREATE INDEX consent_estimate_id ON consent (estimate_id)",
    "CREATE INDEX invoice_job_id ON invoice (job_id)",
    "CREATE INDEX invoice_corrects_id ON invoice (corrects_id)",
    "CREATE INDEX invoice_line_invoice_id ON invoice_line (invoice_id)",
    "CREATE INDEX notice_job_id ON notice (job_id)",
    "CREATE INDEX attachment_job_id ON attachment (job_id)",
    "CREATE INDEX attachment_deck_id ON attachment (deck_id)",
    "CREATE INDEX attachment_stylus_id ON attachment (stylus_id)",
    "CREATE INDEX journal_row ON journal (entity, row_id)",
    "CREATE INDEX reading_key ON reading (key)",
    "CREATE INDEX deck_serial ON deck (serial)",
    "CREATE INDEX bound_key ON bound (key)",
    "CREATE INDEX verdict_item ON verdict (job_id, item)",
    "CREATE UNIQUE INDEX invoice_number ON invoice (number) WHERE number > 0",
    "CREATE INDEX job_open ON job (state_since) WHERE state <> 'handed over'",
    "CREATE INDEX stock_belt ON stock (inner_length_mm) WHERE kind = 'belt'",
    NULL,
};
