// SPDX-License-Identifier: MIT
// Whether a steady tone is a test record's at all: one in noise is a whistle or hum, one rich in harmonics an
// instrument, and one that does not waver and lies on a multiple of the mains comes out of the wall.
#ifndef DW_MEASURE_BAND_DOUBT_H
#define DW_MEASURE_BAND_DOUBT_H

#include "base/status.h"
#include "measure/band/tone_band.h"

// Given: COUNT bands whose components are the tone and its harmonics from the second to HARMONICS.
// Status: DW_BAD_INPUT, with what the plainest of them is, where none is a test record's; DW_OK with none at all.
// Method: 20 dB over the rest of the power in the tone's range, harmonics under a third (common practice, no source).
DwStatus dw_band_doubt_check(const DwToneBand *bands, size_t count, size_t harmonics, DwMessage *message);
// Whether BAND lies within a thousandth of a multiple of 50 or 60 Hz and wavers by less than 50 ppm rms from block to
// block over 3 s or more, as no pressing does: the best are centred within 0.1 mm, which is 300 ppm.
bool dw_band_doubt_may_be_hum(const DwToneBand *band);

#endif
