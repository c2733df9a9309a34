// SPDX-License-Identifier: MIT
// What is played on a record of music, as a key file: the piece, the instruments
// that it has, and what each part plays.
//
//   [music]                            [instrument flute]
//   name = A short piece               partials = 1 0.4 0.2        (peak of each)
//   tempo = 72                         attack = 60 ms
//   tuning = 440 Hz                    decay = 2 s                 (left out: it holds)
//   reverberation = 1.6 s              vibrato = 5.4 Hz:20         (cents, either way)
//   reverberation_level = -12 dB       tremolo = 4 Hz:30           (% of the loudness)
//   applause = 8 s
//   applause_level = -6 dB             [part 1]
//                                      instrument = flute
//   [instrument snare]                 notes = C4:2 E4+G4:1.5 -:0.5 A4>C5:4
//   noise = 200 Hz:6 kHz               level = -3 dB
//   decay = 120 ms                     place = -0.5                (-1 left, 1 right)
//
// Notes are pitch:beats; '+' sounds them together, '>' slides from one to the other, '-' rests.
#ifndef DW_SYNTH_MUSIC_PLAN_H
#define DW_SYNTH_MUSIC_PLAN_H

#include "base/status.h"

#include <stddef.h>

enum {
    DW_MUSIC_PARTIALS_MOST = 16,
    DW_MUSIC_INSTRUMENTS_MOST = 32,
    DW_MUSIC_PARTS_MOST = 64,
    DW_MUSIC_NOTES_MOST = 20000,
    DW_MUSIC_LONGEST_S = 3600
};

typedef struct {
    char *name;
    double partials[DW_MUSIC_PARTIALS_MOST]; // peak of each, as typed
    size_t partial_count;                    // 0 where noise alone sounds
    double stiffness;                        // B of a string, whose nth partial is at n·√(1 + B·n²)
    double noise_low_hz, noise_high_hz;      // NAN for none
    double attack_s;
    double decay_s; // until it has fallen by 60 dB; INFINITY where it holds
    double vibrato_hz, vibrato_cents;
    double tremolo_hz, tremolo_depth; // share of the loudness that goes and comes
} DwMusicInstrument;

typedef struct {
    double start_s, length_s;
    double from_hz, to_hz; // where it begins and ends
    double gain;           // peak, of the loudest partial or, of noise, of its rms
    double place;          // -1 left, 1 right
    size_t instrument;
} DwMusicNote;

typedef struct {
    char *name;
    double tempo, tuning_hz;
    double reverberation_s, reverberation_gain; // 0 s for none
    double applause_s, applause_gain;           // 0 s for none; it begins where the last note ends
    DwMusicInstrument *instruments;
    size_t instrument_count;
    DwMusicNote *notes; // by their start
    size_t note_count;
    double notes_end_s, end_s;
} DwMusicPlan;

// Reads the piece at PATH. What is wrong with it is DW_BAD_INPUT with one line that
// says where and what to do. The caller clears *PLAN with dw_music_plan_clear().
DwStatus dw_music_plan_read(const char *path, DwMusicPlan *plan, DwMessage *message);
// The same from LENGTH bytes at TEXT; NAME stands for the path in messages.
DwStatus dw_music_plan_parse(const char *text, size_t length, const char *name, DwMusicPlan *plan, DwMessage *message);
void dw_music_plan_clear(DwMusicPlan *plan);

// Reads a pitch ("C4", "F#3", "Bb5"; A4 is the tuning, twelve equal steps an octave) at the start of TEXT.
// Returned: where reading stopped, or NULL when none stands there.
// Reference: ISO 16:1975 for A4; the octaves' numbers begin at C (common practice, no source).
const char *dw_music_pitch(const char *text, double tuning_hz, double *frequency_hz);

#endif
