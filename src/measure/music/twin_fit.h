// SPDX-License-Identifier: MIT
// What the course of one recording against another says of the two speeds.
#ifndef DW_MEASURE_TWIN_FIT_H
#define DW_MEASURE_TWIN_FIT_H

#include "dsp/shares.h"
#include "measure/music/twin_course.h"

enum { DW_TWIN_LINES_MOST = 10 };

typedef struct {
    double rate_hz;  // in the first recording's time
    DwVector vector; // of the speed, peak, %, at the first point used
    double amplitude, off;
} DwTwinLine;

typedef struct {
    double length_s;                     // of the first, that both hold
    double speed, speed_off;             // mean of the first against the second, %
    double drift, drift_off;             // %/min
    DwTwinLine line[DW_TWIN_LINES_MOST]; // 0: once a turn; 1: twice; then what else stands out
    size_t lines;
    bool once_found;
    double rest_s;  // rms of what the fit leaves of the course
    double in_step; // share of the points that keep within half a millisecond of lines and straight pieces
} DwTwinFit;

// Given: COURSE with RATIO seconds of the second for one of the first, about; TURN_HZ of a turn, nominal.
// Method: least squares of lines beside a course of straight pieces three turns long; the turn's rate is looked for
// within 3 % of nominal by either recording's time. ±: from what is found at rates beside the line's.
bool dw_twin_fit(const DwTwinCourse *course, double ratio, double turn_hz, DwTwinFit *fit);

#endif
