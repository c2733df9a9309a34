// SPDX-License-Identifier: MIT
// What lowsweep.c finds in a recording before it becomes readings.
#ifndef DW_MEASURE_LOWSWEEP_ANALYSIS_H
#define DW_MEASURE_LOWSWEEP_ANALYSIS_H

#include "dsp/resonance_fit.h"
#include "measure/sweep/lowsweep.h"

// The length of a spectrum.
#define DW_LOWSWEEP_WINDOW_S 0.8

// A sweep in one direction, as played; levels with cut and equalisation taken off.
typedef struct {
    DwResonancePoint *points; // in the order of time
    size_t count;
    double start_s, end_s;
    double low_hz, high_hz;
    size_t recording; // which of those begun it stands in
} DwLowsweepSweep;

struct DwLowsweep {
    DwLowsweepSettings settings;
    double rate_hz, low_rate_hz, start_s;
    unsigned channels;
    bool has_stereo;
    size_t bad; // samples that were not numbers
    size_t stages;
    struct DwHalfband *halfband[2][12];
    float *block[2], *spare[2]; // one block on its way through the stages
    float *series[2];           // what came out
    size_t count, room;
    double window_s;              // standard deviation in time of a spectrum's window
    size_t recordings, alone_met; // begun; sweeps met where one channel alone was heard
    bool directed;                // the recording's direction was stated
    DwLowsweepDirection direction;
    DwLowsweepSweep sweep[DW_LOWSWEEP_DIRECTIONS]; // the widest met
};

// Looks for sweeps in the series of a recording and keeps the widest.
void dw_lowsweep_find(DwLowsweep *lowsweep);

#endif
