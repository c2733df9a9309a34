// SPDX-License-Identifier: MIT
#include "base/catalogue.h"

static const DwQuantity rows[] = {
    {.key = "record.tone", .label = "Recorded tone", .help = "The frequency engraved for the band, at its nominal speed.",
     .dimension = DW_DIMENSION_FREQUENCY, .unit = "Hz", .plausible = {300, 3200}, .possible = {200, 5000}, .digits = 1},
    {.key = "record.tone_tolerance", .label = "Tolerance of the recorded tone",
     .help = "What the test record's maker states for the frequency; it joins the uncertainty of the speed.",
     .dimension = DW_DIMENSION_RATIO, .unit = "%", .plausible = {0.001, 0.5}, .possible = {0, 5}, .digits = 3},
    {.key = "record.radius", .label = "Groove radius", .help = "Spindle centre to the groove being played.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .plausible = {50, 150}, .possible = {20, 260}, .digits = 1},
    {.key = "record.name", .label = "Test record", .kind = DW_QUANTITY_TEXT,
     .help = "Catalogue number, maker and country, as IEC 60098 asks for a measurement."},
    {.key = "record.start", .label = "Measure from", .help = "Seconds into the recording; what lies before is left out.",
     .dimension = DW_DIMENSION_TIME, .unit = "s", .possible = {0, 1e6}, .digits = 2},
    {.key = "record.end", .label = "Measure to", .help = "Seconds into the recording; what lies after is left out.",
     .dimension = DW_DIMENSION_TIME, .unit = "s", .possible = {0, 1e6}, .digits = 2},
    {.key = "record.groove", .label = "Groove limits", .kind = DW_QUANTITY_CHOICE,
     .help = "Radii of the last and first modulated groove: iec 60.325/146.05, iec_1964 60.325/146.3, din 57.5/146.05, "
             "jis 57.6/146.5, seven_inch 53/84, ten_inch 57.6/121 mm, or own.",
     .choices = "iec iec_1964 din jis seven_inch ten_inch own", .preset = "iec"},
    {.key = "record.inner_radius", .label = "Last modulated groove",
     .help = "Its radius; stands in place of the one that the groove limits name.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .plausible = {45, 75}, .possible = {20, 240}, .digits = 2},
    {.key = "record.outer_radius", .label = "First modulated groove",
     .help = "Its radius; stands in place of the one that the groove limits name.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .plausible = {80, 148}, .possible = {25, 260}, .digits = 2},
};
DW_CATALOGUE(record, rows);
