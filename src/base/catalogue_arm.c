// SPDX-License-Identifier: MIT
#include "base/catalogue.h"

static const DwQuantity rows[] = {
    {.key = "arm.pivot_to_spindle", .label = "Pivot to spindle",
     .help = "Centre of the arm's vertical axis to the centre of the spindle, in plan.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .plausible = {150, 330}, .possible = {50, 500}, .digits = 2},
    {.key = "arm.effective_length", .label = "Effective length", .help = "Pivot to stylus tip, in plan.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .plausible = {160, 350}, .possible = {60, 520}, .digits = 2},
    {.key = "arm.offset", .label = "Offset angle", .help = "Cartridge axis against the line from pivot to stylus.",
     .dimension = DW_DIMENSION_ANGLE, .unit = "deg", .plausible = {15, 30}, .possible = {-5, 45}, .digits = 3},
};
DW_CATALOGUE(arm, rows);
