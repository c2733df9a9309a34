// SPDX-License-Identifier: MIT
#include "book/shop/arm.h"
#include "book/store/words.h"

static const DwField fields[] = {
    {"deck_id", "Deck", DW_FIELD_REFERENCE, offsetof(DwArm, deck_id), .refers = "deck"},
    {"make", "Make", DW_FIELD_TEXT, offsetof(DwArm, make)},
    {"model", "Model", DW_FIELD_TEXT, offsetof(DwArm, model)},
    {"serial", "Serial number", DW_FIELD_TEXT, offsetof(DwArm, serial)},
    {"pivot_to_spindle_mm", "Pivot to spindle", DW_FIELD_REAL, offsetof(DwArm, pivot_to_spindle_mm), .unit = "mm",
     .help = "As built, measured."},
    {"effective_length_mm", "Effective length", DW_FIELD_REAL, offsetof(DwArm, effective_length_mm), .unit = "mm"},
    {"headshell", "Headshell", DW_FIELD_CHOICE, offsetof(DwArm, headshell),
     .choices = "unknown|bayonet|captive|three-screw|plug-in|integrated"},
    {"counterweights", "Counterweights", DW_FIELD_TEXT, offsetof(DwArm, counterweights)},
    {"anti_skate", "Anti-skate", DW_FIELD_TEXT, offsetof(DwArm, anti_skate),
     .help = "Weight and thread, spring or magnet."},
    {"cables", "Cables", DW_FIELD_TEXT, offsetof(DwArm, cables), .help = "Captive or socketed."},
    {"bearing_rule", "Bearing rule", DW_FIELD_TEXT, offsetof(DwArm, bearing_rule), .lines = true,
     .help = "Play and friction as this model wants them, and who says so."},
    {"note", "Note", DW_FIELD_TEXT, offsetof(DwArm, note), .lines = true},
};

const DwEntity dw_arm_entity = {"arm",
                                "arm",
                                sizeof(DwArm),
                                fields,
                                sizeof fields / sizeof *fields,
                                .of_customer = "deck_id IN " DW_DECKS_OF_CUSTOMER};
