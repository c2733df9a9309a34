// SPDX-License-Identifier: MIT
// How a platter comes up to speed, from a recording of the tone begun before
// the motor; and how it runs down, from one that goes on after it. Feed, then ask.
#ifndef DW_MEASURE_STARTUP_H
#define DW_MEASURE_STARTUP_H

#include "base/sheet.h"

#include <stdbool.h>
#include <stddef.h>

typedef struct {
    double rate_hz; // of the recording, 6000 or more
    unsigned channels;
    double tone_hz;      // as engraved; NAN when it is not stated
    double speed_rpm;    // nominal
    double band_percent; // within which the speed counts as reached
    double skip_s;       // seconds of the recording before the first sample pushed
} DwStartupSettings;

typedef struct DwStartup DwStartup;

// Feed it interleaved frames, full scale ±1, then finish it once. The caller frees it with dw_startup_free().
DwStartup *dw_startup_new(DwStartupSettings settings);
void dw_startup_free(DwStartup *startup);
void dw_startup_push(DwStartup *startup, const float *interleaved, size_t frames);
void dw_startup_finish(DwStartup *startup);

// Adds readings, the curve of speed against time and remarks to SHEET. No tone,
// or a recording that begins after the start, is DW_BAD_INPUT with one line.
DwStatus dw_startup_read(const DwStartup *startup, DwSheet *sheet, DwMessage *message);

// A run-down as times and speeds. The caller frees both arrays with free().
typedef struct {
    double *seconds;   // from the first point
    double *speed_rpm; // falling
    size_t count;
    double tone_hz; // that was taken for the nominal speed
} DwRunDown;

// The run-down in the recording, at most POINTS values evenly in time, each the
// mean of what lies about it, from where the speed has fallen by 2 % on. Status: DW_BAD_INPUT
// with one line when the tone does not fall by a tenth.
// Accuracy: as dw_sweep_tracker_course; the absolute speed as good as the tone's frequency.
DwStatus dw_startup_run_down(const DwStartup *startup, size_t points, DwRunDown *run_down, DwMessage *message);

// When a platter began to move, from the first stretch of its run-up that can be heard.

typedef struct {
    double begins_s, doubt_s;  // when the torque set in, two standard uncertainties
    double line_s, line_per_s; // the straight line: when it is at nothing, what is gained a second
    double rest_s;             // rms that is left, of the one taken
    bool rises;                // the torque is seen to come up
} DwBeginning;

// Given: COUNT (4 or more) times and speeds (shares of the final one, rising).
// Method: a torque that is there at once makes the run-up a straight line; one that comes up over some tenths of a
// second (a belt that winds up, a soft start) begins it with a parabola. The second is taken where it fits clearly
// better; both are fitted in time, by least squares.
DwBeginning dw_startup_beginning(const double *seconds, const double *speed, size_t count);

// The same of a start whose first movement is not heard, by how the speed bends above it.
typedef struct {
    double begins_s, doubt_s;    // two standard uncertainties
    double earliest_s, latest_s; // what no law that may be contradicts
    double rest_s;               // rms that the best law leaves
} DwSoftBeginning;

// Given: COUNT (5 or more) times and speeds (shares of the final one), the first above nothing; IS_LATE where the first
// stretch was missed and the bend is less known.
// Returned: false where no law fits.
// Method: time is taken for a power of the speed (1 to 1/4: a torque that is there at once, one that comes up evenly,
// and softer ones), or for a torque that comes up evenly and then is at its full, times a bend of second order whose
// size run-ups of the textbooks give beforehand; every such law is fitted by least squares and counts by its
// likelihood, so that the doubt is theirs together.
bool dw_startup_soft_beginning(const double *seconds, const double *speed, size_t count, bool is_late,
                               DwSoftBeginning *found);

#endif
