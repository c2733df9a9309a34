// SPDX-License-Identifier: MIT
// The A-weighting of sound level meters.
#ifndef DW_PHYSICS_A_WEIGHTING_H
#define DW_PHYSICS_A_WEIGHTING_H

// Given: a frequency above zero [Hz].
// Returned: the weighting [dB], 0 at 1 kHz.
// Accuracy: the analytic form itself; the standard's table rounds it to 0.1 dB.
// Reference: IEC 61672-1:2013, annex E, with its poles at 20.60, 107.7, 737.9 and 12194 Hz (figures from memory;
// held against that standard's table 3, from memory too).
double dw_a_weighting_db(double frequency_hz);

#endif
