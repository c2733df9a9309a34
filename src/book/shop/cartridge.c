// SPDX-License-Identifier: MIT
#include "book/shop/cartridge.h"
#include "book/store/words.h"

#include <math.h>

static const DwField cartridge_fields[] = {
    {"deck_id", "Deck", DW_FIELD_REFERENCE, offsetof(DwCartridge, deck_id), .refers = "deck"},
    {"make", "Make", DW_FIELD_TEXT, offsetof(DwCartridge, make)},
    {"model", "Model", DW_FIELD_TEXT, offsetof(DwCartridge, model)},
    {"serial", "Serial number", DW_FIELD_TEXT, offsetof(DwCartridge, serial)},
    {"kind", "Kind", DW_FIELD_CHOICE, offsetof(DwCartridge, kind),
     .choices = "unknown|moving magnet|moving iron|moving coil|ceramic|crystal|other"},
    {"force_low_mn", "Least tracking force", DW_FIELD_REAL, offsetof(DwCartridge, force_low_mn), .unit = "mN"},
    {"force_high_mn", "Greatest tracking force", DW_FIELD_REAL, offsetof(DwCartridge, force_high_mn), .unit = "mN"},
    {"note", "Note", DW_FIELD_TEXT, offsetof(DwCartridge, note), .lines = true},
};

static const DwField stylus_fields[] = {
    {"cartridge_id", "Cartridge", DW_FIELD_REFERENCE, offsetof(DwStylus, cartridge_id), .refers = "cartridge",
     .required = true},
    {"model", "Model", DW_FIELD_TEXT, offsetof(DwStylus, model)},
    {"profile", "Profile", DW_FIELD_TEXT, offsetof(DwStylus, profile)},
    {"origin", "Origin", DW_FIELD_CHOICE, offsetof(DwStylus, origin),
     .choices = "unknown|genuine|aftermarket|retipped"},
    {"bought_on", "Bought on", DW_FIELD_DATE, offsetof(DwStylus, bought_on)},
    {"fitted_on", "Fitted on", DW_FIELD_DATE, offsetof(DwStylus, fitted_on)},
    {"removed_on", "Removed on", DW_FIELD_DATE, offsetof(DwStylus, removed_on)},
    {"hours", "Hours played", DW_FIELD_REAL, offsetof(DwStylus, hours), .high = 100000, .unit = "h"},
    {"rated_hours", "Rated hours", DW_FIELD_REAL, offsetof(DwStylus, rated_hours), .high = 100000, .unit = "h"},
    {"hours_from", "Hours known from", DW_FIELD_CHOICE, offsetof(DwStylus, hours_from),
     .choices = "unknown|owner's word|counter|shop's log"},
    {"guard_present", "Guard present", DW_FIELD_YES, offsetof(DwStylus, guard_present)},
    {"grade", "Grade", DW_FIELD_CHOICE, offsetof(DwStylus, grade), .choices = DW_GRADE_WORDS},
    {"inspected_on", "Inspected on", DW_FIELD_DATE, offsetof(DwStylus, inspected_on)},
    {"next_due_on", "Next inspection due", DW_FIELD_DATE, offsetof(DwStylus, next_due_on)},
    {"note", "Note", DW_FIELD_TEXT, offsetof(DwStylus, note), .lines = true},
};

const DwEntity dw_cartridge_entity = {"cartridge",
                                      "cartridge",
                                      sizeof(DwCartridge),
                                      cartridge_fields,
                                      sizeof cartridge_fields / sizeof *cartridge_fields,
                                      .of_customer = "deck_id IN " DW_DECKS_OF_CUSTOMER};
const DwEntity dw_stylus_entity = {
    "stylus",
    "stylus",
    sizeof(DwStylus),
    stylus_fields,
    sizeof stylus_fields / sizeof *stylus_fields,
    .of_customer = "cartridge_id IN (SELECT id FROM cartridge WHERE deck_id IN " DW_DECKS_OF_CUSTOMER ")"};

DwStatus dw_stylus_play(DwBook *book, int64_t stylus, double hours, DwMessage *message)
{
    if (!(hours > 0))
        return dw_fail(message, DW_BAD_INPUT, "Hours played must be more than 0.");
    DwStylus entry;
    dw_record_init(&entry.record, &dw_stylus_entity);
    DwStatus status = dw_record_load(book, &entry.record, stylus, message);
    if (status == DW_OK) {
        entry.hours = isnan(entry.hours) ? hours : entry.hours + hours;
        status = dw_record_save(book, &entry.record, message);
    }
    dw_record_clear(&entry.record);
    return status;
}
