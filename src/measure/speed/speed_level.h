// SPDX-License-Identifier: MIT
// What the level of a tone does beside its speed: a sound that is added and a room swing level and phase alike, so
// that the one tells how far the other is out.
#ifndef DW_MEASURE_SPEED_LEVEL_H
#define DW_MEASURE_SPEED_LEVEL_H

#include "measure/speed/speed_analysis.h"

// Mean squares of a deviation, %²: as it is, and behind the weighting.
typedef struct {
    double flat, weighted;
} DwLevelPower;

// What the level's swing would read as a deviation, were it the phase that swings so.
typedef struct {
    DwLevelPower added;            // from 2.5 Hz on, where the deviation is as strong: a sound beside the tone
    DwLevelPower fast, slow;       // from 2.5 Hz on and below, of whatever cause
    double follows;                // share of the slow level's power that is a function of the deviation
    double spread_s;               // its rms over that of the tone's angular frequency, both from 0.2 to 20 Hz
    double slow_swing, fast_swing; // rms of the level
} DwSpeedLevel;

// Given: the DEMODULATOR that gave it, LEVEL[analysis->count], the natural logarithm of the level over its median.
// Method: spectra of level and deviation. A sound of amplitude a beside a tone of 1 swings its level by a and its phase
// by a: the law of one sideband, derived. A room's gain and delay differ from one frequency to the next by as much.
DwSpeedLevel dw_speed_level_read(const DwDemodulator *demodulator, const DwSpeedAnalysis *analysis,
                                 const double *level);

#endif
