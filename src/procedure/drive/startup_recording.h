// SPDX-License-Identifier: MIT
// A recording of a start or a run-down, taken in: for `startup` and for `bearing`.
#ifndef DW_PROCEDURE_STARTUP_RECORDING_H
#define DW_PROCEDURE_STARTUP_RECORDING_H

#include "measure/speed/startup.h"

// Reads all of PATH and tells SHEET what was recorded. BAND_PERCENT: within which
// a speed counts as reached; NAN where none is asked for. The caller frees *STARTUP
// with dw_startup_free().
DwStatus dw_startup_recording_take(const char *path, const DwInputs *inputs, double band_percent, DwSheet *sheet,
                                   DwStartup **startup, DwMessage *message);

#endif
