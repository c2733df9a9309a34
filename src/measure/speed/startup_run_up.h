// SPDX-License-Identifier: MIT
// A platter's run-up, read from the course of its speed; and the sheet it makes.
#ifndef DW_MEASURE_STARTUP_RUN_UP_H
#define DW_MEASURE_STARTUP_RUN_UP_H

#include "measure/speed/startup.h"
#include "measure/speed/startup_first_waves.h"
#include "measure/tone/sweep_tracker.h"

#include <stdbool.h>

typedef struct {
    DwSpeedCourse speed_course;
    double *speed; // share of the final speed
    size_t tail;   // from here on the speed counts as final
    double final_hz, final_turns;
    double climb;    // % from the window before the final one to it
    double steady;   // % peak, of the fluctuation in the tail
    double begins_s; // when the platter starts to move, by the recording's clock
    double begins_doubt_s;
    DwLowSound sound[2];                // of the channels, from the recording's start
    size_t reached;                     // first value within the band
    double time_s, settle_s, overshoot; // NAN where there is none
    double settle_doubt_s;              // of the settling alone
    double crest;                       // %: how sharp the highest crest is
    double swing, swing_hz;             // of hunting
    bool goes_on;                       // it does so to the end
    double early_swing, late_swing;     // of what goes on: over its first half and its last, % peak
    double off_s;                       // when the deck was switched off, by the recording's clock; NAN when it was not
    double least_swing;                 // %: what is smaller is no hunting
    bool is_late;                       // the tone is first heard when the platter moves already
} DwRunUp;

// Ends the steady stretch of UP's course before a run-down and finds the final speed. UP->speed is freed with free().
void dw_run_up_settle(const DwStartupSettings *settings, DwRunUp *up);

// Finds beginning, times, overshoot and hunting once the final speed is known.
void dw_run_up_find(const DwStartupSettings *settings, DwRunUp *up);

// Given: a course with a steady stretch, and the platter's rate. Returned: when the deck was switched off, by the
// recording's clock [s]; NAN where it was not.
// Method: a level with what comes once a turn, and from a knee on a fall (a parabola), by least squares for every
// knee; a recording that ends between 0.95 and 0.98 of the speed is one only where that leaves a quarter of the
// squares that a level does.
double dw_startup_switched_off(const DwSpeedCourse *speed_course, double turn_hz);

// Adds what UP tells to SHEET: readings, the curve and remarks.
void dw_run_up_fill_sheet(const DwStartupSettings *settings, const DwRunUp *up, DwSheet *sheet);

#endif
