// SPDX-License-Identifier: MIT
// Forms and lists of whatever the book keeps, made from the entities' tables of
// fields: no page knows the fields of a record by heart.
#ifndef DW_WEB_RECORD_FORM_H
#define DW_WEB_RECORD_FORM_H

#include "book/store/record.h"
#include "web/page/page.h"
#include "web/server/request.h"

// A form that keeps RECORD's fields as they are entered: those of KEYS ("a|b", in
// that order), or all that may be changed (NULL).
void dw_record_form_change(DwPage *page, const DwRecord *record, const char *keys);
// The same of an entry that is not in the book yet. What hangs it on another record
// (REFERENCE, such as "job_id", with ID) is sent along and not shown; REFERENCE NULL
// hangs it on nothing. What RECORD has already stands in the fields.
void dw_record_form_add(DwPage *page, const DwRecord *record, const char *reference, int64_t id, const char *keys,
                        const char *button);
// The same folded under WORDS, for an empty entry of ENTITY.
void dw_record_form_fold(DwPage *page, const DwEntity *entity, const char *reference, int64_t id, const char *keys,
                         const char *words);

// RECORDS as a list, each with its title, the fields COLUMNS ("a|b", NULL for those
// that say something) and a link that opens its form in place. OPEN is the id of the
// one whose form is open, and PATH the page's path; without a PATH they only say.
void dw_record_form_list(DwPage *page, const DwRecords *records, const char *columns, int64_t open, const char *path);
// The same as links to the records' own pages.
void dw_record_form_links(DwPage *page, const DwRecords *records);
// The fields COLUMNS of RECORD that say something, in a line.
void dw_record_form_columns(DwPage *page, const DwRecord *record, const char *columns);
// The buttons beside a record's form: remove, its journal.
void dw_record_form_acts(DwPage *page, const DwRecord *record);
// The id that "?open=ENTITY-ID" opens; 0 when it is another entity's, or none.
int64_t dw_record_form_opened(const DwWebRequest *request, const DwEntity *entity);

// Reads what was sent for RECORD's fields that may be given (ADDING) or changed.
DwStatus dw_record_form_read(const DwWebRequest *request, DwRecord *record, bool adding, DwMessage *message);
// FIELD's value as a person reads it: a reference by its title, a moment on the
// shop's clock, a unit after a number; "" for nothing. The caller frees it with free().
char *dw_record_form_words(const DwWebRequest *request, const DwRecord *record, const DwField *field);
// The page where RECORD is found: of its job, or of its own. The caller frees it with free().
char *dw_record_form_place(const DwWebRequest *request, const DwRecord *record);

// --- record_control.c ----------------------------------------------
// One field of a record as the control of a form.

// Writes the control that FIELD's kind asks for, with RECORD's value in it.
void dw_record_control(DwPage *page, const DwRecord *record, const DwField *field);

// Whether FIELD is a force, which the book keeps in millinewtons and people say in grams.
bool dw_record_in_grams(const DwField *field);
// FIELD's value as a form has it: dw_record_text(), a force in grams. The caller frees it with free().
char *dw_record_spoken(const DwWebRequest *request, const DwRecord *record, const DwField *field);
// TEXT, FIELD's value in the book's own words, as people say it; FIELD may be NULL. The caller frees it with free().
char *dw_record_said(const DwField *field, const char *text);

// TEXT, which it takes, with quantities and readings by their names: "Belt length 560 mm" for "drive.belt_length 560
// mm". The caller frees it with free().
char *dw_record_by_label(char *text);

#endif
