// SPDX-License-Identifier: MIT
// Whether the recordings hold the kind of band that a procedure is for, before anything is
// measured: figures of the wrong band look like figures.
#ifndef DW_PROCEDURE_RIGHT_BAND_H
#define DW_PROCEDURE_RIGHT_BAND_H

#include "procedure/registry/procedure.h"

// What a procedure can use, one or several of them.
enum {
    DW_RIGHT_BAND_TONE = 1,       // a steady tone
    DW_RIGHT_BAND_STEPS = 2,      // a tone at several levels
    DW_RIGHT_BAND_SPOTS = 4,      // tones of several frequencies
    DW_RIGHT_BAND_SWEEP = 8,      // a sweep through the treble or the whole range
    DW_RIGHT_BAND_LOW_SWEEP = 16, // a sweep below 40 Hz, or tones there
    DW_RIGHT_BAND_SILENCE = 32,   // silent groove
    DW_RIGHT_BAND_TWO_TONES = 64, // two tones at once
};

// Listens to the recordings of REQUEST as PROCEDURE (its name) would, which can use any of WANTED.
// Status: DW_BAD_INPUT, with what they hold and what measures that, where they plainly hold
// something else. What cannot be told is DW_OK.
DwStatus dw_right_band_check(const DwRequest *request, const char *procedure, unsigned wanted, DwMessage *message);

#endif
