// SPDX-License-Identifier: MIT
#include "book/care/exchange.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/care/exchange_same.h"
#include "book/shop/arm.h"
#include "book/shop/cartridge.h"
#include "book/shop/customer.h"
#include "book/shop/deck.h"
#include "book/store/private.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

// The reading of one export.
typedef struct {
    DwBook *book;
    json_t *all, *places; // places: "deck 12" of the export to the id here
    DwExchange *exchange;
    DwProblems *notes;
} Import;

// --- what stands in the export ---------------------------------------------------

static int64_t place_of(const Import *import, const char *entity, int64_t id)
{
    char *name = dw_text_format("%s %lld", entity, (long long)id);
    int64_t place = json_integer_value(json_object_get(import->places, name));
    free(name);
    return place;
}

static void keep_place(Import *import, const char *entity, int64_t id, int64_t place)
{
    char *name = dw_text_format("%s %lld", entity, (long long)id);
    json_object_set_new(import->places, name, json_integer(place));
    free(name);
}

// VALUE as it would be typed into FIELD. The caller frees it with free().
static char *typed(const DwField *field, const json_t *value)
{
    if (json_is_string(value))
        return dw_memory_text(json_string_value(value));
    if (json_is_boolean(value))
        return dw_memory_text(json_is_true(value) ? "yes" : "no");
    if (json_is_integer(value))
        return dw_text_format("%lld", (long long)json_integer_value(value));
    if (json_is_real(value))
        return dw_text_format("%.15g%s%s", json_real_value(value), field->unit ? " " : "",
                              field->unit ? field->unit : "");
    return dw_memory_text("");
}

static int64_t id_in(const json_t *object, const char *key)
{
    return json_integer_value(json_object_get(object, key));
}

// A record as OBJECT says, its references to what stands for them here; *WHOLE is false where one has no place here.
static DwStatus make(const Import *import, const json_t *object, DwRecord *record, bool *whole, DwMessage *message)
{
    DwStatus status = DW_OK;
    *whole = true;
    for (size_t i = 0; status == DW_OK && i < record->entity->field_count; i++) {
        const DwField *field = &record->entity->fields[i];
        const json_t *value = json_object_get(object, field->key);
        if (field->kept || field->secret || json_is_null(value) || !value)
            continue;
        if (field->kind == DW_FIELD_REFERENCE) {
            int64_t place = place_of(import, field->refers, json_integer_value(value));
            *(int64_t *)((char *)record + field->offset) = place;
            *whole = *whole && place;
            continue;
        }
        char *text = typed(field, value);
        status = dw_record_set(import->book, record, field->key, text, message);
        free(text);
    }
    return status;
}

// --- customers and decks -----------------------------------------------------------

// Those that the book has, by what they are looked for.
typedef struct {
    char *key;
    DwRecord *record;
    bool taken;
} Known;

static char *key_of(const DwBook *book, const DwRecord *record)
{
    char *text = dw_record_text(book, record,
                                dw_field_find(record->entity, record->entity == &dw_customer_entity ? "name" : "make"));
    char *start = text + strspn(text, " "), *key = dw_memory_text(start);
    for (char *at = key; *at; at++)
        *at = *at >= 'A' && *at <= 'Z' ? (char)(*at + 'a' - 'A') : *at;
    for (size_t length = strlen(key); length && key[length - 1] == ' ';)
        key[--length] = '\0';
    free(text);
    return key;
}

static int by_key(const void *one, const void *other)
{
    return strcmp(((const Known *)one)->key, ((const Known *)other)->key);
}

static size_t first_of(const Known *known, size_t count, const char *key)
{
    size_t low = 0, high = count;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (strcmp(known[middle].key, key) < 0)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

// The customer here who owns what is deck DECK in the export; 0 for nobody.
static int64_t owner_there(const Import *import, int64_t deck)
{
    size_t i;
    json_t *one;
    json_array_foreach(json_object_get(import->all, dw_ownership_entity.name), i,
                       one) if (id_in(one, "deck_id") == deck &&
                                json_is_null(json_object_get(one, "until"))) return place_of(import, "customer",
                                                                                             id_in(one, "customer_id"));
    return 0;
}

// Whether two decks that nothing tells apart have one owner, or none both and not a word that differs.
static bool one_owner(const Import *import, int64_t there, const DwRecord *record, const DwRecord *known)
{
    DwMessage message;
    int64_t owner = owner_there(import, there), own = 0;
    if (record->entity != &dw_deck_entity || dw_deck_owner(import->book, known->id, &own, &message) != DW_OK ||
        owner != own)
        return false;
    char *one = dw_record_text(import->book, record, dw_field_find(record->entity, "serial"));
    char *other = dw_record_text(import->book, known, dw_field_find(record->entity, "serial"));
    bool may = owner || (!*one && !*other);
    free(one);
    free(other);
    return may;
}

// The one of KNOWN that RECORD is, or NULL; *ALIKE is the id of one that it may be.
static Known *find(const Import *import, int64_t there, const DwRecord *record, Known *known, size_t count,
                   int64_t *alike)
{
    char *key = key_of(import->book, record);
    Known *found = NULL, *owned = NULL;
    *alike = 0;
    for (size_t i = first_of(known, count, key); !found && i < count && strcmp(known[i].key, key) == 0; i++) {
        if (known[i].taken)
            continue;
        if (dw_exchange_same(import->book, record, known[i].record))
            found = &known[i];
        else if (dw_exchange_may_be_same(import->book, record, known[i].record)) {
            if (!owned && one_owner(import, there, record, known[i].record))
                owned = &known[i];
            else if (!*alike)
                *alike = known[i].record->id;
        }
    }
    free(key);
    return found ? found : owned;
}

static DwStatus take_known(Import *import, const DwRecord *record, DwRecord *known, DwTaken *taken, DwMessage *message)
{
    bool changed;
    DwStatus status = dw_exchange_fill(import->book, record, known, &changed, message);
    if (status == DW_OK && changed)
        status = dw_record_save(import->book, known, message);
    taken->filled += changed;
    taken->known += !changed;
    return status;
}

static DwStatus take_new(Import *import, DwRecord *record, int64_t alike, DwTaken *taken, DwMessage *message)
{
    DwStatus status = dw_record_save(import->book, record, message);
    taken->added++;
    if (status == DW_OK && alike)
        dw_problems_add(import->notes,
                        "The new %s id %lld may be id %lld, which was here. If they are one: deckwright book merge %s "
                        "%lld %lld",
                        dw_said(record->entity->label), (long long)record->id, (long long)alike, record->entity->name,
                        (long long)record->id, (long long)alike);
    return status;
}

static DwStatus take_one(Import *import, const json_t *object, DwRecord *record, Known *known, size_t count,
                         DwTaken *taken, DwMessage *message)
{
    bool whole;
    int64_t alike, there = id_in(object, "id");
    DwStatus status = make(import, object, record, &whole, message);
    if (status != DW_OK)
        return status;
    Known *same = find(import, there, record, known, count, &alike);
    if (same)
        same->taken = true;
    status = same ? take_known(import, record, same->record, taken, message)
                  : take_new(import, record, alike, taken, message);
    keep_place(import, record->entity->name, there, same ? same->record->id : record->id);
    return status;
}

// A customer whose data was erased is nobody any more.
static bool is_erased(const DwRecord *record)
{
    return record->entity == &dw_customer_entity && ((const DwCustomer *)record)->erased_on;
}

static DwStatus take_all(Import *import, const DwEntity *entity, DwTaken *taken, DwMessage *message)
{
    DwRecords there;
    DwStatus status = dw_record_list(import->book, entity, NULL, 0, &there, message);
    if (status != DW_OK)
        return status;
    Known *known = dw_memory_new(there.count + 1, sizeof *known);
    size_t count = 0, i;
    for (i = 0; i < there.count; i++)
        if (!is_erased(dw_records_at(&there, i)))
            known[count++] =
                (Known){.key = key_of(import->book, dw_records_at(&there, i)), .record = dw_records_at(&there, i)};
    qsort(known, count, sizeof *known, by_key);
    json_t *object;
    json_array_foreach(json_object_get(import->all, entity->name), i, object)
    {
        if (status != DW_OK || json_is_string(json_object_get(object, "erased_on")))
            continue;
        DwRecord *record = dw_memory_new(1, entity->size);
        dw_record_init(record, entity);
        status = take_one(import, object, record, known, count, taken, message);
        dw_record_clear(record);
        free(record);
    }
    for (i = 0; i < count; i++)
        free(known[i].key);
    free(known);
    dw_records_clear(&there);
    return status;
}

// --- what hangs on them --------------------------------------------------------------

// The deck's other record of the quantity: what it says otherwise is noted with the deck.
static DwStatus note_value(Import *import, const DwDeckValue *value, const DwDeckValue *own, DwMessage *message)
{
    if (dw_exchange_equal("value", value->value, own->value))
        return DW_OK;
    DwDeck deck;
    dw_record_init(&deck.record, &dw_deck_entity);
    DwStatus status = dw_record_load(import->book, &deck.record, value->deck_id, message);
    char *line = dw_text_format("%s: %s", value->key, value->value);
    if (status == DW_OK && dw_exchange_note(import->book, &deck.record, line))
        status = dw_record_save(import->book, &deck.record, message);
    free(line);
    dw_record_clear(&deck.record);
    return status;
}

// One of the two owners that both still have the deck had it before the other.
static DwStatus part_owners(Import *import, DwOwnership *ownership, DwOwnership *own, DwMessage *message)
{
    DwOwnership *earlier = strcmp(own->since, ownership->since) <= 0 ? own : ownership;
    DwOwnership *later = earlier == own ? ownership : own;
    dw_field_replace(&earlier->until, later->since);
    dw_problems_add(import->notes, "Deck id %lld had another owner in the other book; customer id %lld has it now.",
                    (long long)own->deck_id, (long long)later->customer_id);
    return earlier == own ? dw_record_save(import->book, &own->record, message) : DW_OK;
}

// Whether OWN says what RECORD says; what of it is new is taken.
static DwStatus take_part(Import *import, DwRecord *record, DwRecord *own, bool *same, DwMessage *message)
{
    const DwEntity *entity = record->entity;
    if (entity == &dw_deck_value_entity) {
        DwDeckValue *value = (DwDeckValue *)record, *noted = (DwDeckValue *)own;
        *same = strcmp(value->key, noted->key) == 0;
        return *same ? note_value(import, value, noted, message) : DW_OK;
    }
    if (entity == &dw_ownership_entity) {
        DwOwnership *ownership = (DwOwnership *)record, *noted = (DwOwnership *)own;
        *same = ownership->customer_id == noted->customer_id &&
                (strcmp(ownership->since, noted->since) == 0 || (!ownership->until && !noted->until));
        if (!*same && !ownership->until && !noted->until)
            return part_owners(import, ownership, noted, message);
        if (!*same || noted->until || !ownership->until)
            return DW_OK;
        dw_field_replace(&noted->until, ownership->until);
        return dw_record_save(import->book, own, message);
    }
    bool changed = false;
    *same = dw_exchange_same(import->book, record, own);
    DwStatus status = *same ? dw_exchange_fill(import->book, record, own, &changed, message) : DW_OK;
    return status == DW_OK && changed ? dw_record_save(import->book, own, message) : status;
}

// TAKEN remembers which of those here stand for one of the export already.
static DwStatus take_hanging(Import *import, const json_t *object, DwRecord *record, json_t *taken, DwMessage *message)
{
    bool whole, same = false;
    DwRecords own;
    DwStatus status = make(import, object, record, &whole, message);
    const char *key = record->entity == &dw_stylus_entity ? "cartridge_id" : "deck_id";
    if (status != DW_OK || !whole)
        return status;
    int64_t parent = *(int64_t *)((char *)record + dw_field_find(record->entity, key)->offset), place = 0;
    status = dw_record_list(import->book, record->entity, parent ? key : NULL, parent, &own, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; status == DW_OK && !same && i < own.count; i++) {
        char *id = dw_text_format("%lld", (long long)dw_records_at(&own, i)->id);
        int64_t on = *(int64_t *)((char *)dw_records_at(&own, i) + dw_field_find(record->entity, key)->offset);
        if (on == parent && !json_object_get(taken, id))
            status = take_part(import, record, dw_records_at(&own, i), &same, message);
        if (same)
            json_object_set_new(taken, id, json_true());
        place = same ? dw_records_at(&own, i)->id : 0;
        free(id);
    }
    dw_records_clear(&own);
    if (status == DW_OK && !same) {
        status = dw_record_save(import->book, record, message);
        place = record->id;
        char *id = dw_text_format("%lld", (long long)place);
        json_object_set_new(taken, id, json_true());
        free(id);
        import->exchange->others++;
    }
    keep_place(import, record->entity->name, id_in(object, "id"), place);
    return status;
}

static DwStatus take_all_hanging(Import *import, const DwEntity *entity, DwMessage *message)
{
    DwStatus status = DW_OK;
    size_t i;
    json_t *object, *taken = json_object();
    json_array_foreach(json_object_get(import->all, entity->name), i, object)
    {
        DwRecord *record = dw_memory_new(1, entity->size);
        dw_record_init(record, entity);
        if (status == DW_OK)
            status = take_hanging(import, object, record, taken, message);
        dw_record_clear(record);
        free(record);
    }
    json_decref(taken);
    return status;
}

// --- all of it -------------------------------------------------------------------------

static DwStatus take(Import *import, DwMessage *message)
{
    const DwEntity *const hanging[] = {&dw_ownership_entity, &dw_deck_value_entity, &dw_arm_entity,
                                       &dw_cartridge_entity, &dw_stylus_entity};
    DwStatus status = dw_book_begin(import->book, message);
    if (status != DW_OK)
        return status;
    status = take_all(import, &dw_customer_entity, &import->exchange->customers, message);
    if (status == DW_OK)
        status = take_all(import, &dw_deck_entity, &import->exchange->decks, message);
    for (size_t i = 0; status == DW_OK && i < sizeof hanging / sizeof *hanging; i++)
        status = take_all_hanging(import, hanging[i], message);
    return dw_book_end(import->book, status, message);
}

DwStatus dw_exchange_read(DwBook *book, const char *folder, DwExchange *exchange, DwProblems *notes, DwMessage *message)
{
    *exchange = (DwExchange){0};
    *notes = (DwProblems){0};
    json_error_t error;
    char *path = dw_text_format("%s/export.json", folder);
    json_t *all = json_load_file(path, JSON_REJECT_DUPLICATES, &error);
    free(path);
    if (!json_is_array(json_object_get(all, "customer")) && !json_is_array(json_object_get(all, "deck"))) {
        DwStatus status = dw_fail(message, DW_BAD_INPUT,
                                  "%s holds no export of a book%s%s. 'deckwright book export FOLDER' makes one.",
                                  folder, all ? "" : ": ", all ? "" : error.text);
        json_decref(all);
        return status;
    }
    Import import = {book, all, json_object(), exchange, notes};
    DwStatus status = take(&import, message);
    json_decref(import.places);
    json_decref(all);
    return status;
}
