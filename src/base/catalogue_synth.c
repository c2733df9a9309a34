// SPDX-License-Identifier: MIT
#include "base/catalogue.h"

static const DwQuantity rows[] = {
    {.key = "synth.seed", .label = "Seed", .help = "The same seed gives the same recording, sample for sample.",
     .dimension = DW_DIMENSION_NUMBER, .unit = "", .preset = "1", .possible = {0, 4294967295}, .digits = 0},
};
DW_CATALOGUE(synth, rows);
