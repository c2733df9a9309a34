// SPDX-License-Identifier: MIT
#include "base/catalogue.h"

static const DwQuantity rows[] = {
    {.key = "preamp.resistance", .label = "Load resistance", .help = "The preamplifier's input resistance.",
     .dimension = DW_DIMENSION_RESISTANCE, .unit = "kohm", .preset = "47 kohm",
     .plausible = {0.02, 110}, .possible = {0.001, 2000}, .digits = 1},
};
DW_CATALOGUE(loading, rows);
