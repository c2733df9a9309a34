// SPDX-License-Identifier: MIT
// A deck's wow from any music that holds notes: what is common to all their partials and locked to the turn. Feed, then
// ask.
#ifndef DW_MEASURE_HELD_H
#define DW_MEASURE_HELD_H

#include "base/sheet.h"
#include "physics/rates.h"

typedef struct {
    double rate_hz; // of the recording
    unsigned channels;
    double speed_rpm; // nominal
    double tuning_hz; // of the a above middle c, as the players tuned; NAN when it is not stated
    double skip_s;    // seconds of the recording before the first sample pushed
    bool drive_given; // whether `drive` describes anything
    DwDrive drive;
} DwHeldSettings;

typedef struct DwHeld DwHeld;

// The caller frees it with dw_held_free().
DwHeld *dw_held_new(DwHeldSettings settings);
void dw_held_free(DwHeld *held);
// Takes FRAMES interleaved frames, full scale ±1.
void dw_held_push(DwHeld *held, const float *interleaved, size_t frames);
// At the end of the recording, once: works it all out.
void dw_held_finish(DwHeld *held);
// Adds readings, tables, curves and remarks to SHEET. Music without held notes, or with nothing but vibrato, is
// DW_BAD_INPUT with one line that says why.
DwStatus dw_held_read(const DwHeld *held, DwSheet *sheet, DwMessage *message);

#endif
