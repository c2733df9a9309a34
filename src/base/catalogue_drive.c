// SPDX-License-Identifier: MIT
#include "base/catalogue.h"

static const DwQuantity rows[] = {
    {.key = "drive.kind", .label = "Kind of drive", .kind = DW_QUANTITY_CHOICE, .choices = "belt idler direct",
     .help = "What turns the platter: a belt, an idler wheel, or a motor under it."},
};
DW_CATALOGUE(drive, rows);
