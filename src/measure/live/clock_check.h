// SPDX-License-Identifier: MIT
// The error of a sampling clock, from how many frames came by which time of the
// computer's clock. Bounded memory, whatever the time.
#ifndef DW_MEASURE_CLOCK_CHECK_H
#define DW_MEASURE_CLOCK_CHECK_H

#include <stdbool.h>
#include <stddef.h>

enum { DW_CLOCK_BINS = 256 };

// The block of each stretch of time that came with the least delay.
typedef struct {
    double time_s, late_s; // since the start; later than a clock without error would have brought it
} DwClockPoint;

typedef struct {
    double rate_hz;
    double start_s, first_frames;
    double bin_s;
    size_t count; // of points; the last is growing
    DwClockPoint point[DW_CLOCK_BINS];
    bool begun;
} DwClockCheck;

typedef struct {
    double error_ppm; // how much faster than nominal the clock runs, as chain.clock_error
    double off_ppm;   // half-width of the 95 % interval, by the delays' scatter alone
    double over_s;
} DwClockReading;

// RATE_HZ is nominal.
void dw_clock_check_start(DwClockCheck *check, double rate_hz);
// By TIME_S of the computer's clock, FRAMES in all had come; neither falls.
void dw_clock_check_push(DwClockCheck *check, double time_s, double frames);
// Given: what was pushed. Returned: false before 20 s. Delays only ever add, so
// the line is fitted through the least delayed block of each stretch.
// Accuracy: the interval holds the truth for delays whose least is the same in
// each stretch. The computer's own clock error is not in it.
// Reference: least squares; the minimum filter as in D. L. Mills, "Computer
// Network Time Synchronization" (2006), chapter 3, from memory.
bool dw_clock_check_read(const DwClockCheck *check, DwClockReading *reading);

#endif
