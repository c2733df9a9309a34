// SPDX-License-Identifier: MIT
// The replay characteristic of fine-groove discs.
#ifndef DW_PHYSICS_RIAA_H
#define DW_PHYSICS_RIAA_H

#include <stdbool.h>

// The time constants, in seconds.
#define DW_RIAA_BASS 3180e-6
#define DW_RIAA_MIDDLE 318e-6
#define DW_RIAA_TREBLE 75e-6
#define DW_RIAA_SUBSONIC 7950e-6 // the replay-only high-pass added later

// The replay level.
// Given: frequency_hz (> 0) [Hz]; subsonic: whether the 7950 µs term is in the
// preamplifier.
// Returned: level relative to 1 kHz [dB]. The recording (velocity)
// characteristic is the negative of the level without the 7950 µs term.
// Accuracy: the closed form, to double precision.
// Reference: RIAA standard, "Standard Recording and Reproducing
// Characteristics", 1963, and IEC 60098, "Analogue audio disk records and
// reproducing equipment": three time constants 3180, 318 and 75 µs.
double dw_riaa_replay_db(double frequency_hz, bool subsonic);

// What the 75 µs alone do to it: level relative to 1 kHz [dB].
double dw_riaa_treble_db(double frequency_hz);

// How far a replay level over 1 kHz may be off, 95 %, where each time constant is off by 5 % rms, as a preamplifier's
// parts are (common practice, no source).
// Reference: derived, the slopes of the closed form to each ln τ.
double dw_riaa_parts_off_db(double frequency_hz);

// The corner frequency of a time constant [s] in Hz.
double dw_riaa_corner_hz(double time_constant_s);

#endif
