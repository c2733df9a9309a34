// SPDX-License-Identifier: MIT
#include "book/model/model.h"

#include "base/inputs.h"
#include "book/store/bound.h"
#include "book/store/private.h"

#include <string.h>

static const DwField model_fields[] = {
    {"make", "Make", DW_FIELD_TEXT, offsetof(DwModel, make), .required = true},
    {"name", "Model", DW_FIELD_TEXT, offsetof(DwModel, name), .required = true},
    {"drive", "Drive", DW_FIELD_CHOICE, offsetof(DwModel, drive), .choices = "unknown|belt|idler|direct|other"},
    {"class", "Class", DW_FIELD_TEXT, offsetof(DwModel, class), .catalogue = "deck.class",
     .help = "Which limits its readings are judged by: a class of deck, as in the list of limits."},
    {"motor", "Motor", DW_FIELD_TEXT, offsetof(DwModel, motor)},
    {"speeds", "Speeds", DW_FIELD_TEXT, offsetof(DwModel, speeds)},
    {"arm", "Arm", DW_FIELD_TEXT, offsetof(DwModel, arm), .lines = true},
    {"note", "Note", DW_FIELD_TEXT, offsetof(DwModel, note), .lines = true,
     .help = "Of the model, not of one owner's deck: it is exported."},
};

static const DwField value_fields[] = {
    {"model_id", "Model", DW_FIELD_REFERENCE, offsetof(DwModelValue, model_id), .refers = "model", .required = true},
    {"about", "About", DW_FIELD_CHOICE, offsetof(DwModelValue, about), .choices = DW_MODEL_ABOUT_WORDS},
    {"key", "Quantity", DW_FIELD_TEXT, offsetof(DwModelValue, key), .required = true},
    {"label", "Label", DW_FIELD_TEXT, offsetof(DwModelValue, label)},
    {"value", "Value", DW_FIELD_TEXT, offsetof(DwModelValue, value), .required = true},
    {"decks", "Decks", DW_FIELD_INTEGER, offsetof(DwModelValue, decks), .low = 0, .high = 1000000},
    {"low", "From", DW_FIELD_REAL, offsetof(DwModelValue, low)},
    {"high", "To", DW_FIELD_REAL, offsetof(DwModelValue, high)},
    {"unit", "Unit", DW_FIELD_TEXT, offsetof(DwModelValue, unit)},
    {"source", "Source", DW_FIELD_TEXT, offsetof(DwModelValue, source), .help = "A manual, a plate, a caliper."},
    {"shared_by", "Shared by", DW_FIELD_TEXT, offsetof(DwModelValue, shared_by)},
};

static const DwField fault_fields[] = {
    {"model_id", "Model", DW_FIELD_REFERENCE, offsetof(DwModelFault, model_id), .refers = "model", .required = true},
    {"fault", "Fault", DW_FIELD_TEXT, offsetof(DwModelFault, fault), .lines = true, .required = true},
    {"remedy", "Remedy", DW_FIELD_TEXT, offsetof(DwModelFault, remedy), .lines = true},
    {"seen", "Seen on decks", DW_FIELD_INTEGER, offsetof(DwModelFault, seen), .low = 0, .high = 1000000},
    {"shared_by", "Shared by", DW_FIELD_TEXT, offsetof(DwModelFault, shared_by)},
};

const DwEntity dw_model_entity = {"model", "model", sizeof(DwModel), model_fields,
                                  sizeof model_fields / sizeof *model_fields};
const DwEntity dw_model_value_entity = {"model_value", "quantity of a model", sizeof(DwModelValue), value_fields,
                                        sizeof value_fields / sizeof *value_fields};
const DwEntity dw_model_fault_entity = {"model_fault", "usual fault", sizeof(DwModelFault), fault_fields,
                                        sizeof fault_fields / sizeof *fault_fields};

// How a deck is built. How it is set and what it was played with is each deck's own.
static const char *const keys[] = {
    "deck.class",
    "drive.kind",
    "drive.motor_kind",
    "drive.motor_slip",
    "drive.motor_poles",
    "drive.motor_speed",
    "drive.motors",
    "drive.poles",
    "drive.slots",
    "drive.tacho_lines",
    "drive.pulley_diameter",
    "drive.rim_diameter",
    "drive.centre_distance",
    "drive.belt_length",
    "drive.belt_listed_length",
    "drive.belt_thickness",
    "drive.belt_width",
    "drive.idler_diameter",
    "drive.idler_driven_diameter",
    "drive.first_belt_length",
    "drive.first_belt_thickness",
    "drive.first_belt_width",
    "drive.idler_mass",
    "platter.diameter",
    "platter.inner_diameter",
    "platter.mass",
    "platter.inertia",
    "bearing.spindle_diameter",
    "bearing.sleeve_length",
    "bearing.clearance",
    "arm.kind",
    "arm.headshell",
    "arm.pivot_to_spindle",
    "arm.effective_length",
    "arm.offset",
    "arm.effective_mass",
    "arm.lateral_mass",
    "arm.bearing_height",
    "arm.counterweight_mass",
    "arm.slot_length",
    "arm.wire_capacitance",
};

const char *dw_model_key(size_t index)
{
    return index < sizeof keys / sizeof *keys ? keys[index] : NULL;
}

bool dw_model_has(const char *key)
{
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
        if (strcmp(keys[i], key) == 0)
            return true;
    return false;
}

DwStatus dw_model_find(DwBook *book, const char *make, const char *name, int64_t *id, DwMessage *message)
{
    DwQuery query =
        dw_query_begin(book, "SELECT id FROM model WHERE make = ?1 COLLATE NOCASE AND name = ?2 COLLATE NOCASE");
    dw_query_bind_text(&query, make ? make : "");
    dw_query_bind_text(&query, name ? name : "");
    *id = dw_query_step(&query) ? dw_query_integer(&query, 0) : 0;
    return dw_query_end(&query, message);
}

DwStatus dw_model_of_deck(DwBook *book, int64_t deck, int64_t *id, DwMessage *message)
{
    return dw_query_number(book,
                           "SELECT model.id FROM deck JOIN model ON model.make = deck.make COLLATE NOCASE AND "
                           "model.name = deck.model COLLATE NOCASE WHERE deck.id = ?",
                           deck, id, message);
}

DwStatus dw_model_limits(DwBook *book, int64_t model, DwRecords *bounds, DwMessage *message)
{
    return dw_record_select(book, &dw_bound_entity,
                            "WHERE model <> '' AND EXISTS (SELECT 1 FROM model AS of WHERE of.id = ?1 AND "
                            "of.make = bound.make COLLATE NOCASE AND of.name = bound.model COLLATE NOCASE) "
                            "AND id IN (SELECT max(id) FROM bound GROUP BY lower(make), lower(model), key) "
                            "ORDER BY key",
                            model, bounds, message);
}

static DwStatus check_build(const DwModelValue *value, DwMessage *message)
{
    const DwQuantity *row = dw_quantity_find(value->key);
    if (!row || !dw_model_has(value->key))
        return dw_fail(message, DW_BAD_INPUT,
                       "\"%s\" is nothing that all decks of a model share. 'deckwright model fields' lists what is.",
                       value->key);
    DwInputs *inputs = dw_inputs_new();
    DwStatus status = dw_inputs_set(inputs, value->key, value->value, message);
    dw_inputs_free(inputs);
    return status;
}

DwStatus dw_model_value_keep(DwBook *book, DwModelValue *value, DwMessage *message)
{
    bool whole = value->key && *value->key && value->value && *value->value; // else the record says what it lacks
    if (whole && value->about == DW_MODEL_BUILD && check_build(value, message) != DW_OK)
        return DW_BAD_INPUT;
    if (value->low > value->high)
        return dw_fail(message, DW_BAD_INPUT, "%s: its range runs from %g to %g. Exchange the two.", value->key,
                       value->low, value->high);
    return dw_record_save(book, &value->record, message);
}

static DwStatus find_noted(DwBook *book, int64_t model, const char *key, int64_t *id, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, "SELECT id FROM model_value WHERE model_id = ? AND key = ? AND "
                                         "about = 'build' AND shared_by = ''");
    dw_query_bind_integer(&query, model);
    dw_query_bind_text(&query, key);
    *id = dw_query_step(&query) ? dw_query_integer(&query, 0) : 0;
    return dw_query_end(&query, message);
}

DwStatus dw_model_note(DwBook *book, int64_t model, const char *key, const char *value, const char *source,
                       DwMessage *message)
{
    DwModelValue entry;
    int64_t id = 0;
    dw_record_init(&entry.record, &dw_model_value_entity);
    DwStatus status = find_noted(book, model, key, &id, message);
    if (status == DW_OK && id)
        status = dw_record_load(book, &entry.record, id, message);
    entry.model_id = model;
    if (status == DW_OK)
        status = dw_record_set(book, &entry.record, "key", key, message);
    if (status == DW_OK)
        status = dw_record_set(book, &entry.record, "value", value, message);
    if (status == DW_OK && source)
        status = dw_record_set(book, &entry.record, "source", source, message);
    if (status == DW_OK)
        status = dw_model_value_keep(book, &entry, message);
    dw_record_clear(&entry.record);
    return status;
}
