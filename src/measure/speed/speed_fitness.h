// SPDX-License-Identifier: MIT
// Whether a recording is fit for measuring flutter: what its level tells of a room, of
// hum and other sound beside the tone, and of noise.
#ifndef DW_MEASURE_SPEED_FITNESS_H
#define DW_MEASURE_SPEED_FITNESS_H

#include "measure/speed/speed_analysis.h"

// Looks at the level at the rate of each flutter line of ANALYSIS, whose `work` is overwritten.
//
// Method: speed alone leaves the level as it is. A sound beside the tone swings level and
// phase by the same angle: such a line is no flutter. A room turns frequency into level, for its
// gain differs from one frequency to the next, up to rates at which its echo averages
// out: from where the level follows less and less the reverberation is estimated.
// Accuracy: the reverberation time within a factor of two, from three lines or more.
// Reference: the law of one sideband, derived; M. R. Schroeder, "Frequency-correlation functions of
// frequency responses in rooms", J. Acoust. Soc. Am. 34 (1962) 1819–1823 (from memory).
void dw_speed_fitness(const DwDemodulator *demodulator, const DwToneRun *run, DwSpeedAnalysis *analysis);

// Whether RUN was played from one groove that closes on itself: once a turn, at TURN_HZ or
// nearly, a tick comes and the tone's phase jumps by the same part of a period.
// Returned: false also where a turn happens to hold a whole number of periods.
bool dw_speed_is_locked(const DwToneRun *run, double turn_hz);

#endif
