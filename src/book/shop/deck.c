// SPDX-License-Identifier: MIT
#include "base/arm_key.h"
#include "base/memory.h"
#include "base/text.h"
#include "book/shop/deck.h"
#include "book/store/private.h"
#include "book/store/words.h"

#include <stdlib.h>
#include <string.h>

static const DwField deck_fields[] = {
    {"make", "Make", DW_FIELD_TEXT, offsetof(DwDeck, make), .required = true},
    {"model", "Model", DW_FIELD_TEXT, offsetof(DwDeck, model)},
    {"variant", "Variant", DW_FIELD_TEXT, offsetof(DwDeck, variant)},
    {"serial", "Serial number", DW_FIELD_TEXT, offsetof(DwDeck, serial)},
    {"made_year", "Year made", DW_FIELD_INTEGER, offsetof(DwDeck, made_year), .low = 1870, .high = 2100},
    {"drive", "Drive", DW_FIELD_CHOICE, offsetof(DwDeck, drive), .choices = "unknown|belt|idler|direct|other"},
    {"operation", "Operation", DW_FIELD_CHOICE, offsetof(DwDeck, operation),
     .choices = "unknown|manual|semi-automatic|automatic|changer"},
    {"class", "Class", DW_FIELD_TEXT, offsetof(DwDeck, class), .catalogue = "deck.class",
     .help = "Which limits the readings are judged by: a class of deck, as in the list of limits."},
    {"motor", "Motor", DW_FIELD_TEXT, offsetof(DwDeck, motor)},
    {"rated_voltage_v", "Rated voltage", DW_FIELD_REAL, offsetof(DwDeck, rated_voltage_v), .high = 1000, .unit = "V"},
    {"rated_frequency_hz", "Rated frequency", DW_FIELD_REAL, offsetof(DwDeck, rated_frequency_hz), .high = 1000,
     .unit = "Hz"},
    {"plug", "Plug", DW_FIELD_TEXT, offsetof(DwDeck, plug)},
    {"pulley_marking", "Pulley marking", DW_FIELD_TEXT, offsetof(DwDeck, pulley_marking)},
    {"speeds", "Speeds", DW_FIELD_TEXT, offsetof(DwDeck, speeds)},
    {"supply_as_left", "Supply as left", DW_FIELD_TEXT, offsetof(DwDeck, supply_as_left),
     .help = "The voltage and frequency it is set to now; also on the label inside."},
    {"parts_present", "Parts present", DW_FIELD_TEXT, offsetof(DwDeck, parts_present), .lines = true,
     .help = "Plinth, cover, hinges, feet, mat, clamp, 45 adaptor, transit screws."},
    {"lesson", "Lesson", DW_FIELD_TEXT, offsetof(DwDeck, lesson), .lines = true,
     .help = "What the next technician should know."},
};

static const DwField ownership_fields[] = {
    {"deck_id", "Deck", DW_FIELD_REFERENCE, offsetof(DwOwnership, deck_id), .refers = "deck", .required = true},
    {"customer_id", "Customer", DW_FIELD_REFERENCE, offsetof(DwOwnership, customer_id), .refers = "customer",
     .required = true},
    {"since", "Since", DW_FIELD_DATE, offsetof(DwOwnership, since), .required = true},
    {"until", "Until", DW_FIELD_DATE, offsetof(DwOwnership, until)},
};

static const DwField value_fields[] = {
    {"deck_id", "Deck", DW_FIELD_REFERENCE, offsetof(DwDeckValue, deck_id), .refers = "deck", .required = true},
    {"key", "Quantity", DW_FIELD_TEXT, offsetof(DwDeckValue, key), .required = true},
    {"value", "Value", DW_FIELD_TEXT, offsetof(DwDeckValue, value), .required = true},
};

const DwEntity dw_deck_entity = {"deck",
                                 "deck",
                                 sizeof(DwDeck),
                                 deck_fields,
                                 sizeof deck_fields / sizeof *deck_fields,
                                 .of_customer = "id IN " DW_DECKS_OF_CUSTOMER,
                                 .merges = true};
const DwEntity dw_ownership_entity = {"ownership",
                                      "ownership",
                                      sizeof(DwOwnership),
                                      ownership_fields,
                                      sizeof ownership_fields / sizeof *ownership_fields,
                                      .of_customer = "customer_id = ?1"};
const DwEntity dw_deck_value_entity = {"deck_value",
                                       "quantity of a deck",
                                       sizeof(DwDeckValue),
                                       value_fields,
                                       sizeof value_fields / sizeof *value_fields,
                                       .of_customer = "deck_id IN " DW_DECKS_OF_CUSTOMER};

const char *dw_deck_class_of_year(int64_t year)
{
    enum { FIRST_STANDARD = 1966 };
    return year > 0 && year < FIRST_STANDARD ? "vintage" : "";
}

static DwStatus end_ownerships(DwBook *book, int64_t deck, const char *today, DwMessage *message)
{
    DwRecords records;
    DwStatus status = dw_record_select(book, &dw_ownership_entity, "WHERE deck_id = ? AND until IS NULL ORDER BY id",
                                       deck, &records, message);
    for (size_t i = 0; status == DW_OK && i < records.count; i++) {
        DwOwnership *ownership = (DwOwnership *)dw_records_at(&records, i);
        dw_field_replace(&ownership->until, today);
        status = dw_record_save(book, &ownership->record, message);
    }
    if (status == DW_OK)
        dw_records_clear(&records);
    return status;
}

DwStatus dw_deck_give(DwBook *book, int64_t deck, int64_t customer, DwMessage *message)
{
    int64_t owner = 0;
    DwStatus status = dw_deck_owner(book, deck, &owner, message);
    if (status != DW_OK || owner == customer)
        return status;
    status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    char today[DW_DATE_SIZE];
    dw_book_today(book, today);
    status = end_ownerships(book, deck, today, message);
    if (status == DW_OK) {
        DwOwnership ownership;
        dw_record_init(&ownership.record, &dw_ownership_entity);
        ownership.deck_id = deck;
        ownership.customer_id = customer;
        ownership.since = dw_memory_text(today);
        status = dw_record_save(book, &ownership.record, message);
        dw_record_clear(&ownership.record);
    }
    return dw_book_end(book, status, message);
}

DwStatus dw_deck_owner(DwBook *book, int64_t deck, int64_t *customer, DwMessage *message)
{
    return dw_query_number(book,
                           "SELECT customer_id FROM ownership WHERE deck_id = ? AND until IS NULL "
                           "ORDER BY id DESC LIMIT 1",
                           deck, customer, message);
}

static DwStatus find_value(DwBook *book, int64_t deck, const char *key, int64_t *id, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, "SELECT id FROM deck_value WHERE deck_id = ? AND key = ? COLLATE NOCASE");
    dw_query_bind_integer(&query, deck);
    dw_query_bind_text(&query, key);
    int64_t found = dw_query_step(&query) ? dw_query_integer(&query, 0) : 0;
    *id = found;
    return dw_query_end(&query, message);
}

// VALUE as an operand of the quantity behind KEY, which may be a named arm's.
static DwStatus check_value(const char *key, const char *value, DwMessage *message)
{
    DwInputs *inputs = dw_inputs_new();
    char *plain = dw_arm_key_plain(key);
    DwStatus status = dw_arm_key_check(key, message);
    if (status == DW_OK && strcmp(plain, "arm.name") == 0)
        status = dw_fail(message, DW_BAD_INPUT,
                         "arm.name says which arm the values belong to and is not a value itself: give it with the "
                         "arm's values, as arm.name=rear arm.effective_length=305mm.");
    if (status == DW_OK)
        status = dw_inputs_set(inputs, plain, value, message);
    free(plain);
    dw_inputs_free(inputs);
    return status;
}

DwStatus dw_deck_set_value(DwBook *book, int64_t deck, const char *key, const char *value, DwMessage *message)
{
    DwStatus status = check_value(key, value, message);
    int64_t id = 0;
    if (status == DW_OK)
        status = find_value(book, deck, key, &id, message);
    DwDeckValue entry;
    dw_record_init(&entry.record, &dw_deck_value_entity);
    if (status == DW_OK && id)
        status = dw_record_load(book, &entry.record, id, message);
    if (status == DW_OK) {
        entry.deck_id = deck;
        dw_field_replace(&entry.key, key);
        dw_field_replace(&entry.value, value);
        status = dw_record_save(book, &entry.record, message);
    }
    dw_record_clear(&entry.record);
    return status;
}

DwStatus dw_deck_inputs(DwBook *book, int64_t deck, DwInputs *inputs, DwMessage *message)
{
    DwRecords records;
    DwStatus status = dw_record_list(book, &dw_deck_value_entity, "deck_id", deck, &records, message);
    if (status != DW_OK)
        return status;
    dw_inputs_begin_source(inputs);
    for (size_t i = 0; status == DW_OK && i < records.count; i++) {
        const DwDeckValue *entry = (const DwDeckValue *)dw_records_at(&records, i);
        if (!*dw_arm_key_name(entry->key))
            status = dw_inputs_set(inputs, entry->key, entry->value, message);
    }
    dw_records_clear(&records);
    return status;
}

DwStatus dw_deck_arms(DwBook *book, int64_t deck, char **names, DwMessage *message)
{
    static const char question[] =
        "SELECT min(name) FROM (SELECT substr(key, instr(key, '@') + 1) AS name FROM deck_value "
        "WHERE deck_id = ?1 AND instr(key, '@') > 0 "
        "UNION ALL SELECT substr(key, instr(key, '@') + 1) FROM set_up JOIN job ON job.id = job_id "
        "WHERE job.deck_id = ?1 AND instr(key, '@') > 0 "
        "UNION ALL SELECT json_extract(sheet, '$.inputs.\"arm.name\".text') FROM measurement "
        "JOIN job ON job.id = job_id WHERE job.deck_id = ?1 AND withdrawn_at IS NULL "
        "AND instr(sheet, '\"arm.name\"') > 0) WHERE name <> '' GROUP BY name COLLATE NOCASE ORDER BY 1";
    DwText all = {0};
    dw_text_add(&all, "%s", "");
    DwQuery query = dw_query_begin(book, question);
    dw_query_bind_integer(&query, deck);
    while (dw_query_step(&query))
        dw_text_add(&all, "%s%s", all.length ? "\n" : "", dw_query_text(&query, 0));
    DwStatus status = dw_query_end(&query, message);
    if (status == DW_OK)
        *names = dw_text_take(&all);
    dw_text_clear(&all);
    return status;
}
