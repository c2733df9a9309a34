// SPDX-License-Identifier: MIT
#include "base/catalogue.h"

static const DwQuantity rows[] = {
    {.key = "cartridge.mass", .label = "Cartridge mass", .help = "Without screws, on a scale or from its sheet.",
     .dimension = DW_DIMENSION_MASS, .unit = "g", .plausible = {2, 20}, .possible = {0.5, 60}, .digits = 1},
};
DW_CATALOGUE(cartridge, rows);
