// SPDX-License-Identifier: MIT
#include "book/shop/deck_fitted.h"

#include "base/arm_key.h"
#include "base/text.h"
#include "book/shop/arm.h"
#include "book/shop/cartridge.h"
#include "book/shop/deck.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

static bool is_called(const char *name, const char *make, const char *model, const char *serial)
{
    char *whole = dw_text_format("%s %s", make ? make : "", model ? model : "");
    bool called = (model && strcasecmp(model, name) == 0) || (serial && strcasecmp(serial, name) == 0) ||
                  strcasecmp(whole, name) == 0;
    free(whole);
    return *name && called;
}

static bool record_is_called(const DwRecord *record, const char *name)
{
    if (record->entity == &dw_arm_entity) {
        const DwDeckArm *arm = (const DwDeckArm *)record;
        return is_called(name, arm->make, arm->model, arm->serial);
    }
    const DwCartridge *cartridge = (const DwCartridge *)record;
    return is_called(name, cartridge->make, cartridge->model, cartridge->serial);
}

// What is noted as the cartridge of the arm whose name stands behind the key of VALUE, else NULL.
static const char *cartridge_of(const DwDeckValue *value)
{
    size_t length = strlen("cartridge.name");
    bool names = strncmp(value->key, "cartridge.name", length) == 0 && strchr("@", value->key[length]);
    return names ? value->value : NULL;
}

// Whether what is noted of the deck claims RECORD for an arm with a name.
static bool is_claimed(const DwRecord *record, const DwRecords *values)
{
    for (size_t i = 0; i < values->count; i++) {
        const DwDeckValue *value = (const DwDeckValue *)dw_records_at(values, i);
        const char *arm = dw_arm_key_name(value->key), *cartridge = cartridge_of(value);
        const char *name = record->entity == &dw_arm_entity ? arm : *arm && cartridge ? cartridge : "";
        if (record_is_called(record, name))
            return true;
    }
    return false;
}

// The name that the wanted record goes by; "" where none is known.
static const char *name_of(const DwEntity *entity, const DwRecords *values, const char *arm, const char *cartridge)
{
    if (entity == &dw_arm_entity)
        return arm;
    const char *name = cartridge;
    for (size_t i = 0; i < values->count && !*cartridge; i++) {
        const DwDeckValue *value = (const DwDeckValue *)dw_records_at(values, i);
        const char *noted = cartridge_of(value);
        if (noted && dw_arm_key_belongs(value->key, arm))
            name = noted;
    }
    return name;
}

DwStatus dw_deck_fitted(DwBook *book, const DwEntity *entity, int64_t deck, const char *arm, const char *cartridge,
                        int64_t *id, DwMessage *message)
{
    DwRecords records, values;
    DwStatus status = dw_record_list(book, &dw_deck_value_entity, "deck_id", deck, &values, message);
    if (status != DW_OK)
        return status;
    status = dw_record_list(book, entity, "deck_id", deck, &records, message);
    if (status == DW_OK) {
        const char *name = name_of(entity, &values, arm, cartridge);
        *id = 0;
        for (size_t i = 0; i < records.count; i++) {
            const DwRecord *record = dw_records_at(&records, i);
            bool called = record_is_called(record, name);
            if (called || (!*name && !*arm && !is_claimed(record, &values)))
                *id = record->id;
        }
        dw_records_clear(&records);
    }
    dw_records_clear(&values);
    return status;
}
