// SPDX-License-Identifier: MIT
// Whether a steady tone is a test record's at all: one in noise is a whistle or hum, one rich in harmonics an
// instrument, one that dies away a bell, one that wavers with no turn a voice, and one that does not waver and lies on
// a multiple of the mains comes out of the wall.
#ifndef DW_MEASURE_BAND_DOUBT_H
#define DW_MEASURE_BAND_DOUBT_H

#include "base/sheet.h"
#include "base/status.h"
#include "measure/band/tone_band.h"

// Given: COUNT bands whose components are the tone and its harmonics from the second to HARMONICS.
// Status: DW_BAD_INPUT, with what the plainest of them is, where none is a test record's; DW_OK with none at all.
// Method: 20 dB over the rest of the power in the tone's range, harmonics under a third; no straight fall of 2 dB or
// more, a quarter of one a second; no wavering over 0.6 % rms beside a drift, a platter's turn and half of it (common
// practice, no source).
DwStatus dw_band_doubt_check(const DwToneBand *bands, size_t count, size_t harmonics, DwMessage *message);
// Whether BAND lies within a thousandth of a multiple of 50 or 60 Hz and wavers by less than 50 ppm rms from block to
// block over 3 s or more, as no pressing does: the best are centred within 0.1 mm, which is 300 ppm.
bool dw_band_doubt_may_be_hum(const DwToneBand *band);
// Whether left and right are parted both ways by more than any groove and pickup part them: 60 dB, 20 more than the
// best (common practice, no source). A caution on SHEET says so.
bool dw_band_doubt_beyond_grooves(const double separation_db[2], DwSheet *sheet);

#endif
