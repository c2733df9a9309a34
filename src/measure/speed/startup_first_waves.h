// SPDX-License-Identifier: MIT
// When a platter begins to move, from the very first waves of the tone: lower than a short spectrum can follow them.
#ifndef DW_MEASURE_STARTUP_FIRST_WAVES_H
#define DW_MEASURE_STARTUP_FIRST_WAVES_H

#include <stdbool.h>
#include <stddef.h>

// Sound at a low rate; value I stands for FIRST_S + I·STEP_S.
typedef struct {
    const float *samples;
    size_t count;
    double first_s, step_s;
} DwLowSound;

// What the course of the speed, as far as it can be followed, tells of the beginning.
typedef struct {
    double tone_hz;  // at the final speed
    double line_s;   // when a straight line through the first stretch is at nothing
    double per_s;    // its slope: share of the final speed a second
    double from;     // share of the final speed from which the tone was followed
    double begins_s; // found
    double doubt_s;  // two standard uncertainties
} DwFirstWaves;

// Finds when the torque set in, from SOUND.
//
// Given: WAVES but what is found. Returned: false, and nothing is found, where the sound does not show the waves that
// a speed coming up makes: it is cut off below, or noise hides it.
// Method: a speed that comes up as a straight line, or begins with a parabola as its torque comes up, makes a chirp
// whose waves are known; chain and cartridge pass it through a high-pass of first or second order. All of these are
// fitted to the waves by least squares, and those that fit nearly as well as the best tell the doubt. Accuracy: 2 ms on
// a chain that is flat to 5 Hz, some 10 ms where it ends at 20 Hz; waves made by a model written apart.
bool dw_startup_first_waves(const DwLowSound *sound, DwFirstWaves *waves);

#endif
