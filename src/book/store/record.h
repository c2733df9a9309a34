// SPDX-License-Identifier: MIT
// A record is one entry of the book: a customer, a deck, a job, a line of an
// estimate. Each kind (an entity) has a struct of its own that begins with a
// DwRecord, and a table of its fields. Loading, saving, the journal, export,
// the command line's operands and a form are all made from that table.
//
//     DwCustomer customer;
//     dw_record_init(&customer.record, &dw_customer_entity);
//     dw_record_set(book, &customer.record, "name", "A. Sample", message);
//     dw_record_save(book, &customer.record, message);
//     dw_record_clear(&customer.record);
#ifndef DW_BOOK_RECORD_H
#define DW_BOOK_RECORD_H

#include "book/store/book.h"
#include "book/store/money.h"

#include <stdbool.h>
#include <stddef.h>

// What a field holds, and the C type at its place in the struct.
typedef enum {
    DW_FIELD_TEXT,      // char *, owned; NULL is ""
    DW_FIELD_PATH,      // the same, and names a place on this computer's disk: see dw_book_set_away()
    DW_FIELD_INTEGER,   // int64_t
    DW_FIELD_REAL,      // double; NAN is nothing
    DW_FIELD_YES,       // bool
    DW_FIELD_CHOICE,    // int, the place of the word in `choices`
    DW_FIELD_DATE,      // char *, owned, "2026-11-25"; NULL is nothing
    DW_FIELD_MOMENT,    // char *, owned, "2026-11-25T14:16:41Z"; NULL is nothing
    DW_FIELD_AMOUNT,    // int64_t, minor units; DW_AMOUNT_NONE is nothing
    DW_FIELD_RATE,      // int64_t, millionths, typed in per cent
    DW_FIELD_REFERENCE, // int64_t, the id of another record; 0 is nothing
} DwFieldKind;

typedef struct {
    const char *key; // the column's name
    const char *label;
    DwFieldKind kind;
    size_t offset;
    const char *choices;   // "booked|received|…"
    int preset;            // the choice that it is until it is set
    const char *refers;    // the entity a reference points to
    const char *unit;      // of a real
    double low, high;      // what a number may be; any where both are 0
    bool not_negative;     // of an amount
    const char *catalogue; // a text that is a word of this quantity of the catalogue, or empty
    const char *help;      // where the label does not say it all
    bool required;
    bool personal; // erased with its customer
    bool lines;    // a text that may run over several lines
    bool attached; // a path that may also be one of the book's own files, "attachments/NAME", whoever sets it
    bool kept;     // the book keeps it: forms and saving leave it alone, verbs of its own change it
    bool secret;   // neither shown, exported nor journalled: as text it is always ""
} DwField;

typedef struct {
    const char *name; // the table's
    const char *label;
    size_t size; // of the struct
    const DwField *fields;
    size_t field_count;
    // Where its customer is found: SQL for the rows of customer ?1, or NULL when it belongs to nobody.
    const char *of_customer;
    bool quiet;  // not journalled: part of a record that is, or itself a log
    bool merges; // two of them that are the same can be made one (twin.h)
} DwEntity;

// The head of each record.
typedef struct {
    const DwEntity *entity;
    int64_t id;       // 0 until it is saved
    int64_t revision; // tells whether somebody changed it since it was loaded
} DwRecord;

// COUNT records of ENTITY one after another at ITEMS; each is of the entity's own type.
typedef struct {
    const DwEntity *entity;
    void *items;
    size_t count;
} DwRecords;

// Prepares a record with nothing in it. Clear it with dw_record_clear().
void dw_record_init(DwRecord *record, const DwEntity *entity);
// Frees what the record holds and empties it.
void dw_record_clear(DwRecord *record);
// The same of a record on the heap, whatever its entity; free it with dw_record_free(), which takes NULL.
DwRecord *dw_record_new(const DwEntity *entity);
void dw_record_free(DwRecord *record);

// Adds the record (id 0) or changes what differs, with a line in the journal for
// each changed field. A required field without a value, a word that is no
// choice, or a record that somebody else changed meanwhile is DW_BAD_INPUT.
DwStatus dw_record_save(DwBook *book, DwRecord *record, DwMessage *message);
// Fills an initialised record, freeing what it held. No such id is DW_BAD_INPUT.
DwStatus dw_record_load(DwBook *book, DwRecord *record, int64_t id, DwMessage *message);
// All records of ENTITY whose reference KEY is ID, oldest first; KEY NULL lists all.
// The caller frees them with dw_records_clear().
DwStatus dw_record_list(DwBook *book, const DwEntity *entity, const char *key, int64_t id, DwRecords *records,
                        DwMessage *message);
// The same, but of more than MOST the newest MOST alone.
DwStatus dw_record_newest(DwBook *book, const DwEntity *entity, const char *key, int64_t id, size_t most,
                          DwRecords *records, DwMessage *message);
// How many there are, of more than MOST only that: counted no further than there.
DwStatus dw_record_count(DwBook *book, const DwEntity *entity, const char *key, int64_t id, size_t most, size_t *count,
                         DwMessage *message);
// The record of ENTITY whose text KEY is TEXT, into an initialised record; none is DW_BAD_INPUT.
DwStatus dw_record_find(DwBook *book, DwRecord *record, const char *key, const char *text, DwMessage *message);
// Takes the record out of the book, which the journal notes field by field. What
// the schema protects (evidence, logs, whatever others refer to) is DW_BAD_INPUT.
DwStatus dw_record_remove(DwBook *book, DwRecord *record, DwMessage *message);
// The same of a record that went into another one: a person's data stays in the journal, marked as such, so that
// dw_record_put_back() can give the record back.
DwStatus dw_record_take_out(DwBook *book, DwRecord *record, DwMessage *message);
// Gives RECORD (id 0), which went, back under its old ID, which nothing else has had since.
DwStatus dw_record_put_back(DwBook *book, DwRecord *record, int64_t id, DwMessage *message);

// The INDEXth record; it stays the list's. dw_records_clear() frees them all.
DwRecord *dw_records_at(const DwRecords *records, size_t index);
void dw_records_clear(DwRecords *records);

// The field called KEY, or NULL.
const DwField *dw_field_find(const DwEntity *entity, const char *key);
// Sets a field from what was typed; "" empties it. A key that is not there or
// that the book keeps itself, and a value of the wrong kind, are DW_BAD_INPUT.
DwStatus dw_record_set(const DwBook *book, DwRecord *record, const char *key, const char *text, DwMessage *message);
// A field as it would be typed; "" for nothing. The caller frees it with free().
char *dw_record_text(const DwBook *book, const DwRecord *record, const DwField *field);
// The record as one JSON object of its id and fields. The caller frees it with free().
char *dw_record_json_write(const DwBook *book, const DwRecord *record);
// The word of choice number CHOICE, or "" past the last. The caller frees it with free().
char *dw_field_word(const DwField *field, int choice);
// The number of the choice called WORD ('-' or '_' may stand for a blank), or -1.
int dw_field_choice(const DwField *field, const char *word);

// The entities one after another; NULL past the last. And the one called NAME, or NULL.
const DwEntity *dw_entity_at(size_t index);
const DwEntity *dw_entity_find(const char *name);

#endif
