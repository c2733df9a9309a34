// SPDX-License-Identifier: MIT
#include "base/catalogue.h"

static const DwQuantity rows[] = {
    {.key = "flutter.split", .label = "Split between wow and flutter",
     .help = "Fluctuation slower than this counts as wow, faster as flutter; the standards leave it open.",
     .dimension = DW_DIMENSION_FREQUENCY, .unit = "Hz", .preset = "6 Hz",
     .plausible = {3, 10}, .possible = {1, 50}, .digits = 1},
};
DW_CATALOGUE(flutter, rows);
