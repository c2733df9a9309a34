// SPDX-License-Identifier: MIT
// Intermodulation from two-tone bands: a low tone (400 or 60 Hz) and 4 kHz, or any stated pair.
#ifndef DW_MEASURE_INTERMOD_H
#define DW_MEASURE_INTERMOD_H

#include "base/sheet.h"
#include "measure/band/band_set.h"

// The detector and the rule that suit tones of LOW_HZ and HIGH_HZ, four times it or more and at most
// DW_INTERMOD_HIGHEST_HZ; NAN, NAN: near 60 or 400 Hz and 4 kHz. The caller frees it with dw_band_set_free().
DwBandSet *dw_intermod_new_set(double low_hz, double high_hz);
#define DW_INTERMOD_HIGHEST_HZ 8500.0
// Adds readings, table and remarks to SHEET from what was fed to SET.
DwStatus dw_intermod_read(DwBandSet *set, DwSheet *sheet, DwMessage *message);

#endif
