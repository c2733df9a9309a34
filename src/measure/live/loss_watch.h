// SPDX-License-Identifier: MIT
// Whether sound was lost on its way in, told by time: a device that runs gives its
// rate's worth of frames in each second. Frames that come late and are made up for
// are not lost; a lateness that stays is. How much is missing is told by the device's
// own count where there is one, in which no delay of this computer stands.
#ifndef DW_MEASURE_LOSS_WATCH_H
#define DW_MEASURE_LOSS_WATCH_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { DW_LOSS_BINS = 16, DW_LOSS_COUNTS = 512 };

// By one count of the device: how late its sound is.
typedef struct {
    double time_s, late_s;
} DwLossCount;

typedef struct {
    double rate_hz, start_s, first_frames;
    bool begun, is_late, hole_told;
    double low_s[DW_LOSS_BINS];      // the least lateness in each quarter of a second [s]
    size_t bins;                     // in all
    long bin;                        // of the newest, counted from the start
    double since_s, good_s;          // when the present lateness was seen first; when all was well last
    double begun_late_s;             // when blocks began to be late; since_s is after all that is known to be there
    double part_low_s[DW_LOSS_BINS]; // its least in each part since then
    size_t parts;                    // the last of which is not over
    size_t parts_wanted;             // so many have the usual least, as the arrivals before scatter
    DwLossCount count[DW_LOSS_COUNTS];
    uint64_t counts; // in all; the newest stand in a ring
} DwLossWatch;

typedef enum {
    DW_LOSS_NONE, // all is there up to now
    DW_LOSS_LATE, // frames are late: whether any are lost shows within a second, on a busy computer within six
    DW_LOSS_FOUND,
    DW_LOSS_SETTLING, // the first second: what is missing in it cannot be told, so that nothing may rest on it
} DwLossVerdict;

// Begins to watch a device of RATE_HZ.
void dw_loss_watch_start(DwLossWatch *watch, double rate_hz);
// The device says that it had taken FRAMES in all by TIME_S (monotonic): as soon as it is known.
void dw_loss_watch_count(DwLossWatch *watch, double time_s, double frames);
// FRAMES in all had come by TIME_S (monotonic). HOLE: the device itself said that some
// are missing just before the last of them. With DW_LOSS_FOUND *LOST_S is how much is
// missing [s]; 0 when a hole was told that is shorter than what can be told by time.
// Accuracy: 1 ms with the device's counts, from 4 ms on; 20 ms where most of these are late themselves; without, as the
// arrivals scatter.
DwLossVerdict dw_loss_watch_push(DwLossWatch *watch, double time_s, double frames, bool hole, double *lost_s);

#endif
