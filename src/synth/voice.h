// SPDX-License-Identifier: MIT
// Something like a speaking voice, for the announcement on a test record: it
// only has to be what a search for a steady tone must not take for one.
#ifndef DW_SYNTH_VOICE_H
#define DW_SYNTH_VOICE_H

#include "synth/random.h"

#include <stdbool.h>

#define DW_VOICE_FORMANTS 3
#define DW_VOICE_LEVEL 0.7 // peaks of an announcement over those of the tone; our choice

// A two-pole resonator, one formant.
typedef struct {
    double gain, a1, a2;
    double last, before;
} DwFormant;

typedef struct {
    DwRandom random;
    double rate_hz;
    double speed; // 1 as recorded; a record played too fast raises everything
    DwFormant formants[DW_VOICE_FORMANTS];
    bool silent;
    double length, at; // [frames] of the syllable or pause, and where in it
    int syllables;     // left in this word
    double pitch_hz, pitch_slope, turns;
} DwVoice;

// A voice of its own SEED for samples of RATE_HZ [Hz], SPEED times as fast as spoken.
void dw_voice_init(DwVoice *voice, uint64_t seed, double rate_hz, double speed);
// The next value; its loudest peaks are about 1.
// Reference: pulses through formant resonators, G. Fant, "Acoustic Theory of
// Speech Production" (1960); vowels of men from G. E. Peterson and H. L.
// Barney, "Control Methods Used in a Study of the Vowels" (1952), values from
// memory.
double dw_voice_next(DwVoice *voice);

#endif
