// SPDX-License-Identifier: MIT
// Whether a recording is fit for measuring flutter: what its level tells of a room, of
// hum and other sound beside the tone, and of noise.
#ifndef DW_MEASURE_SPEED_FITNESS_H
#define DW_MEASURE_SPEED_FITNESS_H

#include "measure/speed/speed_analysis.h"

// Of the tone left out: in a room it is the tone that fades, from here on.
extern const double dw_speed_fading;

// Looks at the level of ANALYSIS, whose `work` is overwritten, and widens what a room or a sound beside the tone moves:
// the platter's lines, and the mean where the tone fades.
//
// Method: speed alone leaves the level as it is. A sound beside the tone swings level and phase by the same angle. A
// room's gain and delay differ from one frequency to the next, by as much the one as the other: level that follows the
// deviation tells how far the phase may be out. A fade may cost the phase a period.
// Accuracy: the spread of the echo within 2 % of what the level does; what a room moves, by drawn rooms, 95 %.
// Reference: the law of one sideband, derived; M. R. Schroeder, "Frequency-correlation functions of
// frequency responses in rooms", J. Acoust. Soc. Am. 34 (1962) 1819–1823 (from memory).
void dw_speed_fitness(const DwDemodulator *demodulator, const DwToneRun *run, DwSpeedAnalysis *analysis);

// Whether RUN was played from one groove that closes on itself: once a turn, at TURN_HZ or
// nearly, a tick comes and the tone's phase jumps by the same part of a period.
// Returned: false also where a turn happens to hold a whole number of periods.
bool dw_speed_is_locked(const DwToneRun *run, double turn_hz);

#endif
