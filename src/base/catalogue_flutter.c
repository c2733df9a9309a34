// SPDX-License-Identifier: MIT
#include "base/catalogue.h"

static const DwQuantity rows[] = {
    {.key = "flutter.split", .label = "Split between wow and flutter",
     .help = "Fluctuation slower than this counts as wow, faster as flutter; the standards leave it open.",
     .dimension = DW_DIMENSION_FREQUENCY, .unit = "Hz", .preset = "6 Hz",
     .plausible = {3, 10}, .possible = {1, 50}, .digits = 1},
    {.key = "strobe.flash", .label = "Lamp flashes",
     .help = "Flashes a second where the lamp is not on the mains (an LED driver or crystal lamp); else twice the mains.",
     .dimension = DW_DIMENSION_FREQUENCY, .unit = "Hz", .plausible = {90, 1000}, .possible = {1, 20000}, .digits = 3},
    {.key = "strobe.ring", .label = "Bars of the ring", .help = "Bars counted on the ring in use; else those this program would draw.",
     .dimension = DW_DIMENSION_NUMBER, .unit = "", .plausible = {60, 450}, .possible = {1, 5000}, .digits = 0},
    {.key = "strobe.drift", .label = "Bars drifting a minute",
     .help = "Bars that pass a fixed mark in a minute: positive with the platter's turning, negative against it, 0 standing.",
     .dimension = DW_DIMENSION_NUMBER, .unit = "", .plausible = {-150, 150}, .possible = {-3000, 3000}, .digits = 1},
    {.key = "strobe.paper", .label = "Paper", .kind = DW_QUANTITY_CHOICE, .choices = "a4 letter", .preset = "a4",
     .help = "What the disc is printed on."},
    {.key = "startup.band", .label = "Speed counts as reached within",
     .help = "Either side of the final speed; 1 % is common practice.",
     .dimension = DW_DIMENSION_RATIO, .unit = "%", .preset = "1 %", .plausible = {0.2, 3}, .possible = {0.05, 10},
     .digits = 2},
};
DW_CATALOGUE(flutter, rows);
