// SPDX-License-Identifier: MIT
// From the coils of the cartridge to the recording: each coil on its load, the
// stylus's own resonance, the preamplifier, and the change from the rate the
// groove is played at inside to that of the file.
#ifndef DW_SYNTH_REPLAY_H
#define DW_SYNTH_REPLAY_H

#include "physics/loading.h"

#include <stdbool.h>
#include <stddef.h>

// How many pairs of values go in for one that comes out: the groove is played at
// twice the file's rate, for what its bends make above half of that.
#define DW_REPLAY_FACTOR 2

typedef struct {
    bool loaded; // whether LOADING is known
    DwLoading loading;
    DwLoadingTip tip; // frequency_hz 0: none
    bool equalised;   // through an RIAA preamplifier
    bool subsonic;    // with the 7950 µs term
} DwReplaySettings;

// Output for equal groove velocity at FREQUENCY_HZ, relative to 1 kHz [dB].
double dw_replay_response_db(const DwReplaySettings *settings, double frequency_hz);

typedef struct DwReplay DwReplay;

// RATE_HZ is the file's, by the true clock.
// Accuracy: the magnitude is that of dw_replay_response_db within 0.005 dB up to
//   0.45 of the file's rate, and 90 dB down where it would fold back to there.
//   Phase is that of the recursive sections: minimal but for their bilinear
//   transform, and the rest of it without delay.
DwReplay *dw_replay_new(const DwReplaySettings *settings, double rate_hz);
void dw_replay_free(DwReplay *replay);

// How many must have gone in beyond that of a moment to hear it.
size_t dw_replay_ahead(const DwReplay *replay);
// Takes the next values, left and right: GENERATED goes through all of it,
// HEARD (a level as recorded, in both) only through the change of rate.
void dw_replay_push(DwReplay *replay, const double generated[2], double heard);
// What is recorded of CHANNEL at the moment dw_replay_ahead values back.
double dw_replay_read(const DwReplay *replay, int channel);

#endif
