// SPDX-License-Identifier: MIT
#include "base/catalogue.h"

static const DwQuantity rows[] = {
    {.key = "found.null_inner", .label = "Inner tangency as found",
     .help = "The smaller radius at which the cartridge stands along the grid line, with the arm as it came.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .plausible = {40, 110}, .possible = {10, 300}, .digits = 1},
    {.key = "found.null_outer", .label = "Outer tangency as found",
     .help = "The larger radius at which the cartridge stands along the grid line, with the arm as it came.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .plausible = {70, 160}, .possible = {10, 300}, .digits = 1},
    {.key = "found.error_at", .label = "Angular error as found",
     .help = "RADIUS:ANGLE, read on a protractor at two radii or more; positive where the cartridge's nose would "
             "have to turn inwards to stand tangent.",
     .kind = DW_QUANTITY_PAIR, .dimension = DW_DIMENSION_LENGTH, .unit = "mm",
     .second_dimension = DW_DIMENSION_ANGLE, .second_unit = "deg",
     .second_plausible = {-5, 5}, .second_possible = {-45, 45},
     .plausible = {50, 150}, .possible = {20, 250}, .repeats = true, .digits = 1},
    {.key = "found.slip", .label = "Stylus out of place",
     .help = "How far the stylus stands too far out along the cartridge axis; negative: too far back.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .plausible = {-10, 10}, .possible = {-40, 40}, .digits = 2},
    {.key = "found.twist", .label = "Cartridge turned",
     .help = "How far the cartridge is turned too far inwards (nose towards the spindle); negative: outwards. On a "
             "linear arm: its error of zenith.",
     .dimension = DW_DIMENSION_ANGLE, .unit = "deg", .plausible = {-5, 5}, .possible = {-30, 30}, .digits = 2},
    {.key = "found.pivot_to_spindle", .label = "Pivot to spindle as mounted",
     .help = "The distance measured on this deck, where it is not the one the arm was made for.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .plausible = {150, 330}, .possible = {50, 500}, .digits = 2},
    {.key = "found.slot_forward", .label = "Travel left forward",
     .help = "How far the cartridge can still move away from the pivot; half the slots' travel when not stated.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .plausible = {0, 20}, .possible = {0, 60}, .digits = 1},
    {.key = "found.radius_uncertainty", .label = "Uncertainty of a radius read",
     .help = "How well the protractor and the eye fix a radius of tangency, at 95 %.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .preset = "0.3 mm",
     .plausible = {0.05, 2}, .possible = {0, 20}, .digits = 2},
    {.key = "found.angle_uncertainty", .label = "Uncertainty of an angle read",
     .help = "How well an angular error is read on the protractor, at 95 %.",
     .dimension = DW_DIMENSION_ANGLE, .unit = "deg", .preset = "0.25 deg",
     .plausible = {0.05, 2}, .possible = {0, 10}, .digits = 2},
    {.key = "found.pivot_uncertainty", .label = "Uncertainty of pivot to spindle",
     .help = "How well the distance from pivot to spindle was measured, at 95 %.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .preset = "0.5 mm",
     .plausible = {0.05, 3}, .possible = {0, 20}, .digits = 2},
};
DW_CATALOGUE(found, rows);
