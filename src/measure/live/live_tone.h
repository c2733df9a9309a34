// SPDX-License-Identifier: MIT
// Follows the tone of a live input: finds it, demodulates it to about a thousand
// values a second with some 15 ms of delay, and notices within a frame when it
// has gone. Bounded memory.
#ifndef DW_MEASURE_LIVE_TONE_H
#define DW_MEASURE_LIVE_TONE_H

#include "measure/tone/carrier.h"
#include "measure/tone/window.h"

typedef enum {
    DW_LIVE_TONE_NONE,     // none was found yet
    DW_LIVE_TONE_HEARD,    // the last frame held it
    DW_LIVE_TONE_FADED,    // the last frame did not hold it
    DW_LIVE_TONE_WANDERED, // it left the place where it was found
    DW_LIVE_TONE_LOST,     // it has been missing for too long, or the stream broke
} DwLiveToneState;

typedef struct DwLiveTone DwLiveTone;

// For samples at RATE_HZ; TONE_HZ as engraved, NAN when it is not stated; the last KEEP_S seconds are kept.
DwLiveTone *dw_live_tone_new(double rate_hz, double tone_hz, double keep_s);
void dw_live_tone_free(DwLiveTone *tone);
// Takes what came to CHANNEL since the last call (values NULL in the second:
// mono), which must hold the last 2 s at least.
void dw_live_tone_take(DwLiveTone *tone, const DwWindow channel[2]);
// The stream broke: what comes next is no continuation. PLACE is where it goes on.
void dw_live_tone_break(DwLiveTone *tone, size_t place);

// Whether a tone is looked for, followed or lost.
DwLiveToneState dw_live_tone_state(const DwLiveTone *tone);
// The run of the tone being followed, or NULL. Valid until the next call.
const DwToneRun *dw_live_tone_run(const DwLiveTone *tone);
// How many runs were begun.
size_t dw_live_tone_runs(const DwLiveTone *tone);
// Values of the run, from its beginning, up to the last good piece.
size_t dw_live_tone_good_to(const DwLiveTone *tone);
const DwDemodulator *dw_live_tone_demodulator(const DwLiveTone *tone);

#endif
