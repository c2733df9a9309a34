// SPDX-License-Identifier: MIT
#include "base/catalogue.h"

static const DwQuantity rows[] = {
    {.key = "platter.mass", .label = "Platter mass", .help = "The platter with its mat, on a scale.",
     .dimension = DW_DIMENSION_MASS, .unit = "g", .plausible = {200, 10000}, .possible = {20, 50000}, .digits = 0},
};
DW_CATALOGUE(bearing, rows);
