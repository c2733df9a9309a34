// SPDX-License-Identifier: MIT
// Recordings of a test record as a described deck would play it: for trying
// everything without a turntable, and for tests that need a known truth.
// The quantities are synth.*, fault.*, record.tone (3150 Hz when not given),
// record.radius, deck.speed, deck.mains, chain.clock_error and, for a belt,
// drive.*. Nothing stated is a clean tone of 60 s at 48 kHz. With record.plan it
// is a whole side of a test record, played by the described arm.*, found.*,
// force.*, cartridge.*, cable.* and preamp.*. With synth.music it is a piece of
// music in the tone's place.
#ifndef DW_SYNTH_SYNTH_H
#define DW_SYNTH_SYNTH_H

#include "base/inputs.h"
#include "synth/course.h"
#include "synth/record_side.h"

typedef struct DwSynth DwSynth;

// What is true of a recording. Times are seconds from its start, by a true
// clock; the lines' phases are at `tone_start_s`.
// Of a planned side the tone is the whole of it, and dw_synth_side tells more; of music it is the piece.
typedef struct {
    double tone_hz; // as engraved; NAN for a planned side and for music
    double tone_start_s, tone_end_s;
    double rotation_hz;          // mean turns of the platter a second
    double steady_error_percent; // mean over the tone band, of error and drift alone
    double mean_error_percent;   // mean over the tone band, of all but random flutter
    double drift_percent_per_min;
    const DwSpeedLine *lines; // two may share a frequency: see dw_synth_line
    size_t line_count;
    size_t ticks, dropouts;                         // their counts in the whole recording
    double tone_peak;                               // 1 is full scale; of music, its loudest
    double noise_rms;                               // of the white noise in a channel
    double rumble_lateral_rms, rumble_vertical_rms; // of half the channels' sum, and half their difference
    double hum_peak;                                // of its fundamental in a channel
} DwSynthTruth;

// INPUTS are read here and not needed afterwards. What cannot be played is
// DW_BAD_INPUT with one line. The caller frees it with dw_synth_free.
DwStatus dw_synth_new(const DwInputs *inputs, DwSynth **synth, DwMessage *message);
void dw_synth_free(DwSynth *synth);

// Of the recording that is made.
double dw_synth_rate(const DwSynth *synth); // [Hz]
int dw_synth_channels(const DwSynth *synth);
size_t dw_synth_frames(const DwSynth *synth); // of the whole recording

// The next frames, at most FRAMES of them, channels interleaved, full scale
// ±1. Returned: how many; 0 at the end. The samples do not hang on how many
// are asked for at a time.
size_t dw_synth_read(DwSynth *synth, float *interleaved, size_t frames);

// Valid until the synth is freed; reading changes nothing in it.
const DwSynthTruth *dw_synth_truth(const DwSynth *synth);
// What is true of the planned side; NULL when one tone is played.
const DwRecordSide *dw_synth_side(const DwSynth *synth);
// Given: seconds from the start of the recording.
// Returned: the true deviation of speed then [%], but for random flutter.
double dw_synth_deviation(const DwSynth *synth, double seconds);
// Adds up the lines within TOLERANCE_HZ of FREQUENCY_HZ as pointers.
// Returned: the peak [%] of the sum; PHASE_RAD (may be NULL) is its phase at
//   the start of the tone.
double dw_synth_line(const DwSynth *synth, double frequency_hz, double tolerance_hz, double *phase_rad);
// The first ROOM times of ticks or of drop-outs' starts, seconds from the start
// of the recording. Returned: how many there are in all.
size_t dw_synth_ticks(const DwSynth *synth, double *times_s, size_t room);
size_t dw_synth_dropouts(const DwSynth *synth, double *times_s, size_t room);

#endif
