// SPDX-License-Identifier: MIT
// What is true of a planned side as a sheet, to hold a measurement against.
#ifndef DW_SYNTH_RECORD_SIDE_SHEET_H
#define DW_SYNTH_RECORD_SIDE_SHEET_H

#include "base/sheet.h"
#include "synth/synth.h"

// SYNTH plays a planned side. The caller frees the sheet with dw_sheet_free().
DwSheet *dw_record_side_sheet(const DwSynth *synth);

#endif
