// SPDX-License-Identifier: MIT
#include "base/catalogue/catalogue.h"

static const DwQuantity rows[] = {
    {.key = "deck.speed",
     .label = "Nominal speed",
     .help = "The speed the deck is set to; 33⅓, 45 or 78.",
     .dimension = DW_DIMENSION_ROTATION,
     .unit = "rpm",
     .preset = "33.3333333333333 rpm",
     .plausible = {16, 85},
     .possible = {5, 200},
     .digits = 2},
    {.key = "deck.mains",
     .label = "Mains frequency",
     .help = "50 or 60 Hz, from the rating plate or the wall.",
     .dimension = DW_DIMENSION_FREQUENCY,
     .unit = "Hz",
     .preset = "50 Hz",
     .plausible = {49, 61},
     .possible = {10, 500},
     .digits = 2},
    {.key = "deck.class",
     .label = "Class of deck",
     .kind = DW_QUANTITY_CHOICE,
     .help = "Which table of limits the readings are judged by.",
     .choices = "hifi broadcast vintage portable",
     .preset = "hifi"},
    {.key = "deck.name", .label = "Deck", .kind = DW_QUANTITY_TEXT, .help = "Maker, model and serial as on the plate."},
};
DW_CATALOGUE(deck, rows);
