// SPDX-License-Identifier: MIT
// Intermodulation from two-tone bands: a low tone (400 or 60 Hz) and 4 kHz.
#ifndef DW_MEASURE_INTERMOD_H
#define DW_MEASURE_INTERMOD_H

#include "base/sheet.h"
#include "measure/band/band_set.h"

// The detector and the rule that suit two tones. The caller frees it with dw_band_set_free().
DwBandSet *dw_intermod_new_set(void);
// Adds readings, table and remarks to SHEET from what was fed to SET.
DwStatus dw_intermod_read(DwBandSet *set, DwSheet *sheet, DwMessage *message);

#endif
