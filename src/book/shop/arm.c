// SPDX-License-Identifier: MIT
#include "book/shop/arm.h"
#include "book/store/words.h"

static const DwField fields[] = {
    {"deck_id", "Deck", DW_FIELD_REFERENCE, offsetof(DwDeckArm, deck_id), .refers = "deck"},
    {"make", "Make", DW_FIELD_TEXT, offsetof(DwDeckArm, make)},
    {"model", "Model", DW_FIELD_TEXT, offsetof(DwDeckArm, model)},
    {"serial", "Serial number", DW_FIELD_TEXT, offsetof(DwDeckArm, serial)},
    {"pivot_to_spindle_mm", "Pivot to spindle", DW_FIELD_REAL, offsetof(DwDeckArm, pivot_to_spindle_mm), .unit = "mm",
     .help = "As built, measured."},
    {"effective_length_mm", "Effective length", DW_FIELD_REAL, offsetof(DwDeckArm, effective_length_mm), .unit = "mm"},
    {"headshell", "Headshell", DW_FIELD_CHOICE, offsetof(DwDeckArm, headshell),
     .choices = "unknown|bayonet|captive|three-screw|plug-in|integrated"},
    {"counterweights", "Counterweights", DW_FIELD_TEXT, offsetof(DwDeckArm, counterweights)},
    {"anti_skate", "Anti-skate", DW_FIELD_TEXT, offsetof(DwDeckArm, anti_skate),
     .help = "Weight and thread, spring or magnet."},
    {"cables", "Cables", DW_FIELD_TEXT, offsetof(DwDeckArm, cables), .help = "Captive or socketed."},
    {"bearing_rule", "Bearing rule", DW_FIELD_TEXT, offsetof(DwDeckArm, bearing_rule), .lines = true,
     .help = "Play and friction as this model wants them, and who says so."},
    {"note", "Note", DW_FIELD_TEXT, offsetof(DwDeckArm, note), .lines = true},
};

const DwEntity dw_arm_entity = {"arm",
                                "arm",
                                sizeof(DwDeckArm),
                                fields,
                                sizeof fields / sizeof *fields,
                                .of_customer = "deck_id IN " DW_DECKS_OF_CUSTOMER};
