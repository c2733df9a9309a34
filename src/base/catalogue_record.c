// SPDX-License-Identifier: MIT
#include "base/catalogue.h"

static const DwQuantity rows[] = {
    {.key = "record.tone", .label = "Recorded tone", .help = "The frequency engraved for the band, at its nominal speed.",
     .dimension = DW_DIMENSION_FREQUENCY, .unit = "Hz", .plausible = {300, 3200}, .possible = {200, 5000}, .digits = 1},
    {.key = "record.tone_tolerance", .label = "Tolerance of the recorded tone",
     .help = "What the test record's maker states for the frequency; it joins the uncertainty of the speed.",
     .dimension = DW_DIMENSION_RATIO, .unit = "%", .plausible = {0.001, 0.5}, .possible = {0, 5}, .digits = 3},
    {.key = "record.radius", .label = "Groove radius", .help = "Spindle centre to the groove being played; for several recordings of different bands once for each.",
     .dimension = DW_DIMENSION_LENGTH, .unit = "mm", .plausible = {50, 150}, .possible = {20, 260}, .repeats = true, .digits = 1},
    {.key = "record.name", .label = "Test record", .kind = DW_QUANTITY_TEXT,
     .help = "Catalogue number, maker and country, as IEC 60098 asks for a measurement."},
    {.key = "record.plan", .label = "Plan of the side", .kind = DW_QUANTITY_TEXT,
     .help = "Path of the plan that lists the side's bands, or the name of one that came with the program (twenty-band-side)."},
    {.key = "record.start", .label = "Measure from", .help = "Seconds into the recording; what lies before is left out.",
     .dimension = DW_DIMENSION_TIME, .unit = "s", .possible = {0, 1e6}, .digits = 2},
    {.key = "record.end", .label = "Measure to", .help = "Seconds into the recording; what lies after is left out.",
     .dimension = DW_DIMENSION_TIME, .unit = "s", .possible = {0, 1e6}, .digits = 2},
    {.key = "reseat.angle", .label = "Record turned by",
     .help = "How far the record was turned on the platter since the first recording, once for each recording: "
             "positive clockwise seen from above, the way the platter turns. The first may be left out; it is 0.",
     .dimension = DW_DIMENSION_ANGLE, .unit = "deg", .plausible = {-360, 360}, .possible = {-3600, 3600}, .repeats = true,
     .digits = 1},
    {.key = "reseat.angle_error", .label = "Error of these angles",
     .help = "How far off the turning may be, 95 %; 2 deg with marks on label and platter rim.",
     .dimension = DW_DIMENSION_ANGLE, .unit = "deg", .preset = "2 deg", .plausible = {0.2, 10}, .possible = {0, 90},
     .digits = 1},
    {.key = "reseat.reference", .label = "Phase reference", .kind = DW_QUANTITY_CHOICE,
     .choices = "mark label click scratch none", .preset = "none",
     .help = "What tells how the platter stood: a mark on the platter or on the label passing a pointer at a stated time, "
             "a click the platter makes or a scratch of the record heard once a turn, or nothing."},
    {.key = "reseat.mark", .label = "Mark passes at",
     .help = "Seconds into the recording at which the mark passes the pointer, any one pass, once for each recording; "
             "left out, it passes at record.start, else as the recording begins.",
     .dimension = DW_DIMENSION_TIME, .unit = "s", .possible = {-1e6, 1e6}, .repeats = true, .digits = 3},
    {.key = "reseat.mark_error", .label = "Error of these times",
     .help = "How far off the times of the mark may be, 95 %; 40 ms is one frame of a common video.",
     .dimension = DW_DIMENSION_TIME, .unit = "s", .preset = "0.04 s", .plausible = {0.001, 0.2}, .possible = {0, 10},
     .digits = 3},
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
