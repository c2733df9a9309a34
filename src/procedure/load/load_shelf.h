// SPDX-License-Identifier: MIT
// Which of the leads on the shelf suits a cartridge best.
#ifndef DW_PROCEDURE_LOAD_SHELF_H
#define DW_PROCEDURE_LOAD_SHELF_H

#include "base/inputs.h"
#include "base/sheet.h"
#include "physics/load_network.h"

// Adds the table of the leads given as load.lead, and which to take; nothing where none was given.
void dw_load_shelf_add(DwSheet *sheet, const DwInputs *inputs, const DwLoadNetwork *network, const DwLoadingTip *tip);

#endif
