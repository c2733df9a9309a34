// SPDX-License-Identifier: MIT
#include "base/catalogue.h"

static const DwQuantity rows[] = {
    {.key = "found.null_inner", .label = "Inner tangency as found",
     .help = "The smaller radius at which the cartridge stands along the grid line, with the arm as it came.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .plausible = {40, 110}, .possible = {10, 300}, .digits = 1},
};
DW_CATALOGUE(found, rows);
