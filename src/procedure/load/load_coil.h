// SPDX-License-Identifier: MIT
// The parts of the loading sheet beside the response itself: level and hiss (moving coils, their
// step-up, the coil's noise against the preamplifier's), and which lead to take.
#ifndef DW_PROCEDURE_LOAD_COIL_H
#define DW_PROCEDURE_LOAD_COIL_H

#include "base/sheet.h"
#include "physics/load_network.h"
#include "physics/loading.h"

// Whether the coil given is a moving coil's: below 5 mH and 250 Ω.
bool dw_load_coil_is_moving(const DwInputs *inputs);
// Adds the load over the coil and what loads and ratios cost. SEEN is the
// network as the cartridge sees it.
void dw_load_coil_add(DwSheet *sheet, const DwInputs *inputs, const DwLoading *seen);
// Adds the hiss of coil and load, and of the preamplifier where it was given.
void dw_load_coil_add_noise(DwSheet *sheet, const DwInputs *inputs, const DwLoading *seen);

// Which of the leads on the shelf suits a cartridge best.

// Adds the table of the leads given as load.lead, and which to take; nothing where none was given.
void dw_load_shelf_add(DwSheet *sheet, const DwInputs *inputs, const DwLoadNetwork *network, const DwLoadingTip *tip);

#endif
