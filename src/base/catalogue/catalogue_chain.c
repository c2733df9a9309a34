// SPDX-License-Identifier: MIT
#include "base/catalogue/catalogue.h"

static const DwQuantity rows[] = {
    {.key = "chain.name",
     .label = "Recording chain",
     .kind = DW_QUANTITY_TEXT,
     .help = "Preamplifier, interface and gain setting, so that before and after can be compared."},
    {.key = "chain.clock_error",
     .label = "Sampling-clock error",
     .help = "How much faster than nominal the interface's clock runs, where it has been checked.",
     .dimension = DW_DIMENSION_RATIO,
     .unit = "ppm",
     .plausible = {-200, 200},
     .possible = {-20000, 20000},
     .digits = 1},
};
DW_CATALOGUE(chain, rows);
