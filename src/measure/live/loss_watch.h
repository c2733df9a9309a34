// SPDX-License-Identifier: MIT
// Whether sound was lost on its way in, told by time: a device that runs gives its
// rate's worth of frames in each second. Frames that come late and are made up for
// are not lost; a lateness that stays is.
#ifndef DW_MEASURE_LOSS_WATCH_H
#define DW_MEASURE_LOSS_WATCH_H

#include <stdbool.h>
#include <stddef.h>

enum { DW_LOSS_BINS = 16 };

typedef struct {
    double rate_hz, start_s, first_frames;
    bool begun, is_late, hole_told;
    double low_s[DW_LOSS_BINS]; // the least lateness in each quarter of a second [s]
    size_t bins;                // in all
    long bin;                   // of the newest, counted from the start
    double since_s;             // when the present lateness was seen first
    double late_low_s[2];       // its least in the last whole part and in the present one
    long part;                  // of that, counted from since_s; −1: none is whole
} DwLossWatch;

typedef enum {
    DW_LOSS_NONE, // all is there up to now
    DW_LOSS_LATE, // frames are late: whether any are lost shows within a second
    DW_LOSS_FOUND,
    DW_LOSS_SETTLING, // the first second: what is missing in it cannot be told, so that nothing may rest on it
} DwLossVerdict;

// Begins to watch a device of RATE_HZ.
void dw_loss_watch_start(DwLossWatch *watch, double rate_hz);
// FRAMES in all had come by TIME_S (monotonic). HOLE: the device itself said that some
// are missing just before the last of them. With DW_LOSS_FOUND *LOST_S is how much is
// missing [s], to some milliseconds; 0 when a hole was told that is shorter.
DwLossVerdict dw_loss_watch_push(DwLossWatch *watch, double time_s, double frames, bool hole, double *lost_s);

#endif
