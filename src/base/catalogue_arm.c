// SPDX-License-Identifier: MIT
#include "base/catalogue.h"

static const DwQuantity rows[] = {
    {.key = "arm.kind", .label = "Kind of arm", .kind = DW_QUANTITY_CHOICE,
     .help = "pivoted: offset and overhang; underhung: straight, no offset, stops short of the spindle; linear: "
             "carried along a radius.",
     .choices = "pivoted underhung linear", .preset = "pivoted"},
    {.key = "arm.pivot_to_spindle", .label = "Pivot to spindle",
     .help = "Centre of the arm's vertical axis to the centre of the spindle, in plan.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .plausible = {150, 330}, .possible = {50, 500}, .digits = 2},
    {.key = "arm.effective_length", .label = "Effective length", .help = "Pivot to stylus tip, in plan.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .plausible = {160, 350}, .possible = {60, 520}, .digits = 2},
    {.key = "arm.overhang", .label = "Overhang",
     .help = "How far the stylus swings past the centre of the spindle; negative for an arm that stops short of it.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .plausible = {-25, 30}, .possible = {-80, 80}, .digits = 2},
    {.key = "arm.offset", .label = "Offset angle", .help = "Cartridge axis against the line from pivot to stylus.",
     .dimension = DW_DIMENSION_ANGLE, .unit = "deg", .plausible = {15, 30}, .possible = {-5, 45}, .digits = 3},
    {.key = "arm.slot_length", .label = "Travel in the headshell slots",
     .help = "How far the cartridge can travel along its slots from end to end: slot length less the screw; 0 for "
             "plain holes.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .plausible = {0, 25}, .possible = {0, 60}, .digits = 1},
    {.key = "align.method", .label = "Alignment", .kind = DW_QUANTITY_CHOICE,
     .help = "loefgren_a (Baerwald): least worst distortion; loefgren_b: least mean distortion; stevenson_a: tangent "
             "at the last groove; unweighted: least worst angle; own: chosen null radii.",
     .choices = "loefgren_a loefgren_b stevenson_a unweighted own", .preset = "loefgren_a"},
    {.key = "align.null_inner", .label = "Chosen inner null", .help = "The smaller radius of tangency for method own.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .plausible = {50, 90}, .possible = {20, 250}, .digits = 2},
    {.key = "align.null_outer", .label = "Chosen outer null", .help = "The larger radius of tangency for method own.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .plausible = {70, 135}, .possible = {20, 250}, .digits = 2},
    {.key = "align.compare", .label = "Compare with", .kind = DW_QUANTITY_CHOICE,
     .help = "A second alignment of the same arm, to stand beside the first.",
     .choices = "loefgren_a loefgren_b stevenson_a unweighted own"},
    {.key = "align.velocity", .label = "Velocity of the stated distortion",
     .help = "Peak lateral velocity that the distortion figures are for; they are proportional to it.",
     .dimension = DW_DIMENSION_VELOCITY, .unit = "cm/s", .preset = "10 cm/s",
     .plausible = {3, 40}, .possible = {0.1, 200}, .digits = 1},
    {.key = "template.kind", .label = "Template", .kind = DW_QUANTITY_CHOICE,
     .help = "arc: the stylus's path for this arm; grid: two points, for any pivoted arm; overhang: a gauge on the "
             "spindle; strip: stylus hole and mounting distance.",
     .choices = "arc grid overhang strip", .preset = "arc"},
    {.key = "template.paper", .label = "Paper", .kind = DW_QUANTITY_CHOICE,
     .help = "Sheets to print on; what does not fit one sheet is parted on several, with marks to join them.",
     .choices = "a4 letter a3", .preset = "a4"},
    {.key = "printer.x", .label = "Printed 100 mm ruler, across",
     .help = "What the ruler along the short side of an uncorrected print measured.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .preset = "100 mm",
     .plausible = {97, 103}, .possible = {80, 125}, .digits = 2},
    {.key = "printer.y", .label = "Printed 100 mm ruler, along",
     .help = "What the ruler along the long side of an uncorrected print measured.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .preset = "100 mm",
     .plausible = {97, 103}, .possible = {80, 125}, .digits = 2},
};
DW_CATALOGUE(arm, rows);
