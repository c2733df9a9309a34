// SPDX-License-Identifier: MIT
// Speed, wow and flutter from the constant tone of a test record. Feed, then
// ask: the same object serves a file and live capture, and asking twice gives
// the same answer.
#ifndef DW_MEASURE_SPEED_H
#define DW_MEASURE_SPEED_H

#include "base/sheet.h"
#include "physics/rates.h"

typedef struct {
    double rate_hz; // of the recording, 6000 or more
    unsigned channels;
    double tone_hz;                // as engraved; NAN when it is not stated
    double speed_rpm;              // nominal
    double split_hz;               // between wow and flutter
    double radius_mm;              // of the groove; NAN when it is not stated
    double offset_deg;             // of the arm; NAN when it is not stated
    double clock_error_ppm;        // of the sampling clock; NAN when it was never checked
    double tone_off_ppm;           // by which this copy's tone is known to be over what is engraved by its sleeve
    double tone_tolerance_percent; // of the record's tone, 95 %; NAN when it is not stated
    double skip_s;                 // seconds of the recording before the first sample pushed
    double keep_s;                 // longest stretch measured, for bounded memory
    double good_flutter;           // weighted two-sigma that the deck's class calls good, %; NAN: a hi-fi deck's
    double good_turn;              // likewise once a revolution, % peak
    double most_drift;             // that the deck's class allows, %/min; NAN: a hi-fi deck's
    double mains_hz;               // of the deck's mains; NAN when it is not stated
    bool drive_given;              // whether `drive` describes anything
    DwDrive drive;                 // for tracing lines to its parts
} DwSpeedSettings;

// The settings that suit a recording of RATE_HZ and CHANNELS, nothing stated.
DwSpeedSettings dw_speed_settings(double rate_hz, unsigned channels);

typedef struct DwSpeed DwSpeed;

// The caller frees it with dw_speed_free().
DwSpeed *dw_speed_new(DwSpeedSettings settings);
void dw_speed_free(DwSpeed *speed);
// Takes FRAMES interleaved frames, full scale ±1.
void dw_speed_push(DwSpeed *speed, const float *interleaved, size_t frames);
// At the end of a recording: takes what does not fill a block.
void dw_speed_finish(DwSpeed *speed);
// Adds readings, table, curves, raster and remarks to SHEET. No tone, too short
// a tone or a sample that is not a number is DW_BAD_INPUT with one line.
DwStatus dw_speed_read(const DwSpeed *speed, DwSheet *sheet, DwMessage *message);

#endif
