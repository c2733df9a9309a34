// SPDX-License-Identifier: MIT
#include "book/entry/twin.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/shop/customer.h"
#include "book/shop/deck.h"
#include "book/store/journal.h"
#include "book/store/private.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

// A telephone number by its figures alone: "+44 (0)12-3" and "0044 123" are not told to be one, "012 3" and "0123" are.
#define FIGURES(column)                                                                                                \
    "replace(replace(replace(replace(replace(replace(" column                                                          \
    ", ' ', ''), '-', ''), '/', ''), '.', ''), '(', ''), ')', '')"
#define PLAIN(column) "lower(trim(" column "))"
#define SAME(column) "(" PLAIN("o." column) " = " PLAIN("m." column) " AND trim(m." column ") <> '')"

// The rows of the others, the record itself being row ?1. Each part has its index (schema_10.c), in the same words.
static const char customers[] =
    "WHERE id IN (SELECT o.id FROM customer AS m CROSS JOIN customer AS o WHERE m.id = ?1 AND m.erased_on IS NULL AND "
    "o.id <> m.id AND o.erased_on IS NULL AND (" SAME("name") " OR " SAME("email") " OR (length(" FIGURES(
        "m.phone") ") > 5 AND " FIGURES("o.phone") " = " FIGURES("m.phone") "))) ORDER BY id";
static const char decks[] =
    "WHERE id IN (SELECT o.id FROM deck AS m CROSS JOIN deck AS o WHERE m.id = ?1 AND o.id <> m.id AND " SAME(
        "make") " AND " SAME("serial") ") ORDER BY id";

DwStatus dw_twin_find(DwBook *book, const DwRecord *record, DwRecords *twins, DwMessage *message)
{
    bool customer = record->entity == &dw_customer_entity;
    if (!customer && record->entity != &dw_deck_entity) {
        *twins = (DwRecords){.entity = record->entity};
        return DW_OK;
    }
    return dw_record_select(book, record->entity, customer ? customers : decks, record->id, twins, message);
}

const DwField *dw_twin_reference(const DwEntity *other, const DwEntity *entity)
{
    for (size_t i = 0; i < other->field_count; i++)
        if (other->fields[i].kind == DW_FIELD_REFERENCE && strcmp(other->fields[i].refers, entity->name) == 0)
            return &other->fields[i];
    return NULL;
}

DwStatus dw_twin_hanging(DwBook *book, const DwEntity *entity, int64_t id, const DwEntity *other, size_t *count,
                         DwMessage *message)
{
    const DwField *field = dw_twin_reference(other, entity);
    DwRecords records = {0};
    *count = 0;
    DwStatus status = field ? dw_record_list(book, other, field->key, id, &records, message) : DW_OK;
    if (status == DW_OK)
        *count = records.count;
    dw_records_clear(&records);
    return status;
}

// What the record that goes says otherwise, for the note of the one that stays.
static void tell(DwText *otherwise, const char *label, const char *value)
{
    dw_text_add(otherwise, "%s%s: %s", otherwise->length ? "\n" : "", label, value);
}

// What is noted of both decks: INTO has a value for the key of VALUE; where it is another, OTHERWISE is told.
static DwStatus has_value(DwBook *book, const DwDeckValue *value, int64_t into, bool *has, DwText *otherwise,
                          DwMessage *message)
{
    DwQuery query = dw_query_begin(book, "SELECT value FROM deck_value WHERE deck_id = ? AND key = ?");
    dw_query_bind_integer(&query, into);
    dw_query_bind_text(&query, value->key);
    *has = dw_query_step(&query);
    if (*has && strcmp(dw_query_text(&query, 0), value->value) != 0)
        tell(otherwise, value->key, value->value);
    return dw_query_end(&query, message);
}

// One deck has one owner at a time: of the two open ownerships that of INTO stays, from the earlier day.
static DwStatus has_owner(DwBook *book, const DwOwnership *ownership, int64_t into, bool *has, DwMessage *message)
{
    DwRecords open;
    *has = false;
    if (ownership->until)
        return DW_OK;
    DwStatus status =
        dw_record_select(book, &dw_ownership_entity, "WHERE deck_id = ? AND until IS NULL", into, &open, message);
    if (status != DW_OK)
        return status;
    *has = open.count > 0;
    DwOwnership *stays = *has ? (DwOwnership *)dw_records_at(&open, 0) : NULL;
    if (stays && strcmp(ownership->since, stays->since) < 0) {
        dw_field_replace(&stays->since, ownership->since);
        status = dw_record_keep(book, &stays->record, message);
    }
    dw_records_clear(&open);
    return status;
}

static DwStatus move_one(DwBook *book, DwRecord *record, const DwField *field, const DwEntity *entity, int64_t into,
                         DwText *otherwise, DwMessage *message)
{
    bool stands = false;
    DwStatus status = DW_OK;
    if (entity == &dw_deck_entity && record->entity == &dw_deck_value_entity)
        status = has_value(book, (const DwDeckValue *)record, into, &stands, otherwise, message);
    else if (entity == &dw_deck_entity && record->entity == &dw_ownership_entity)
        status = has_owner(book, (const DwOwnership *)record, into, &stands, message);
    if (status == DW_OK && stands)
        return dw_record_take_out(book, record, message);
    *(int64_t *)((char *)record + field->offset) = into;
    return status == DW_OK ? dw_record_keep(book, record, message) : status;
}

// Whatever refers to FROM refers to INTO.
static DwStatus move_all(DwBook *book, const DwEntity *entity, int64_t from, int64_t into, DwText *otherwise,
                         DwMessage *message)
{
    DwStatus status = DW_OK;
    const DwEntity *other;
    for (size_t e = 0; status == DW_OK && (other = dw_entity_at(e)); e++) {
        const DwField *field = dw_twin_reference(other, entity);
        DwRecords records = {0};
        if (field)
            status = dw_record_list(book, other, field->key, from, &records, message);
        for (size_t i = 0; status == DW_OK && i < records.count; i++)
            status = move_one(book, dw_records_at(&records, i), field, entity, into, otherwise, message);
        dw_records_clear(&records);
    }
    return status;
}

const DwField *dw_twin_note(const DwEntity *entity)
{
    return dw_field_find(entity, entity == &dw_customer_entity ? "note" : "lesson");
}

static bool is_nothing(const DwField *field, const char *text)
{
    return !*text || strcmp(text, "0") == 0 || (field->kind == DW_FIELD_CHOICE && dw_field_choice(field, text) == 0);
}

// Fills FIELD where INTO leaves it empty; OTHERWISE is told what FROM says otherwise. A no is said: it stays a no,
// whichever of them said it.
static DwStatus fill_field(DwBook *book, const DwRecord *from, DwRecord *into, const DwField *field, DwText *otherwise,
                           DwMessage *message)
{
    DwStatus status = DW_OK;
    char *theirs = dw_record_text(book, from, field), *own = dw_record_text(book, into, field);
    // A deck's words in capitals say the same; a person's name is written as its owner writes it.
    bool deck = into->entity == &dw_deck_entity;
    bool same = (deck ? strcasecmp(theirs, own) : strcmp(theirs, own)) == 0, yes_no = field->kind == DW_FIELD_YES;
    if (!same && yes_no && strcmp(own, "yes") == 0)
        status = dw_field_set(book, into, field, "no", message);
    else if (!same && !yes_no && is_nothing(field, own) && *theirs)
        status = dw_field_set(book, into, field, theirs, message);
    else if (!same && (yes_no || !is_nothing(field, theirs)))
        tell(otherwise, field->label, theirs);
    free(theirs);
    free(own);
    return status;
}

// Writes OTHERWISE under the note of INTO.
static DwStatus note(const DwBook *book, DwRecord *into, const DwText *otherwise, DwMessage *message)
{
    const DwField *field = dw_twin_note(into->entity);
    char *own = dw_record_text(book, into, field);
    char *text = dw_text_format("%s%sThe other record of the same %s said:\n%s", own, *own ? "\n" : "",
                                into->entity->label, otherwise->chars);
    DwStatus status = dw_field_set(book, into, field, text, message);
    free(own);
    free(text);
    return status;
}

// Nothing that FROM says is lost.
static DwStatus fill(DwBook *book, const DwRecord *from, DwRecord *into, DwText *otherwise, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 0; status == DW_OK && i < from->entity->field_count; i++)
        if (!from->entity->fields[i].kept)
            status = fill_field(book, from, into, &from->entity->fields[i], otherwise, message);
    if (status == DW_OK && otherwise->length)
        status = note(book, into, otherwise, message);
    return status == DW_OK ? dw_record_save(book, into, message) : status;
}

static DwStatus check_owners(DwBook *book, int64_t from, int64_t into, DwMessage *message)
{
    int64_t one = 0, other = 0;
    DwStatus status = dw_deck_owner(book, from, &one, message);
    if (status == DW_OK)
        status = dw_deck_owner(book, into, &other, message);
    return status == DW_OK && one && other && one != other
               ? dw_fail(
                     message, DW_BAD_INPUT,
                     "The two decks have two owners. Make the owners one, or give one deck to the other's owner first.")
               : status;
}

// Who share nothing are not the same by all that the book knows.
static DwStatus check_twins(DwBook *book, const DwRecord *from, const DwRecord *into, DwMessage *message)
{
    DwRecords twins;
    bool found = false;
    DwStatus status = dw_twin_find(book, from, &twins, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < twins.count; i++)
        found = found || dw_records_at(&twins, i)->id == into->id;
    dw_records_clear(&twins);
    if (found)
        return DW_OK;
    return dw_fail(message, DW_BAD_INPUT,
                   from->entity == &dw_customer_entity
                       ? "The two customers share neither name, telephone nor email. Write what they share in both "
                         "first."
                       : "The two decks do not have the same make and serial number. Write them in both first.");
}

static DwStatus check(DwBook *book, const DwRecord *from, const DwRecord *into, DwMessage *message)
{
    DwStatus status = DW_OK;
    if (from->id == into->id)
        return dw_fail(message, DW_BAD_INPUT, "That is the same %s twice.", dw_said(from->entity->label));
    if (from->entity == &dw_deck_entity)
        status = check_owners(book, from->id, into->id, message);
    else if (((const DwCustomer *)from)->erased_on || ((const DwCustomer *)into)->erased_on)
        status = dw_fail(message, DW_BAD_INPUT, "A customer who was erased stays alone.");
    return status == DW_OK ? check_twins(book, from, into, message) : status;
}

static DwStatus merge(DwBook *book, DwRecord *from, DwRecord *into, DwMessage *message)
{
    const DwEntity *entity = from->entity;
    int64_t gone = from->id;
    DwText otherwise = {0};
    char *with = dw_text_format(DW_TWIN_WITH "%lld", (long long)gone);
    char *words = dw_text_format(DW_JOURNAL_MERGED "%lld", (long long)into->id);
    DwStatus status = check(book, from, into, message);
    if (status == DW_OK)
        status = dw_journal_add(book, entity->name, into->id, DW_TWIN_MERGED, "", with, false, message);
    if (status == DW_OK)
        status = move_all(book, entity, from->id, into->id, &otherwise, message);
    if (status == DW_OK)
        status = fill(book, from, into, &otherwise, message);
    if (status == DW_OK)
        status = dw_record_take_out(book, from, message);
    if (status == DW_OK)
        status = dw_journal_add(book, entity->name, gone, "", "", words, false, message);
    dw_text_clear(&otherwise);
    free(with);
    free(words);
    return status;
}

DwStatus dw_twin_merge(DwBook *book, const DwEntity *entity, int64_t from, int64_t into, DwMessage *message)
{
    if (!entity->merges)
        return dw_fail(message, DW_BAD_INPUT, "Customers and decks are made one, and nothing else.");
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    DwRecord *one = dw_record_new(entity), *other = dw_record_new(entity);
    status = dw_record_load(book, one, from, message);
    if (status == DW_OK)
        status = dw_record_load(book, other, into, message);
    if (status == DW_OK)
        status = merge(book, one, other, message);
    dw_record_free(one);
    dw_record_free(other);
    return dw_book_end(book, status, message);
}
