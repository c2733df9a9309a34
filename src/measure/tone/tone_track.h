// SPDX-License-Identifier: MIT
// Follows the one tone of a recording, steady or sweeping, by short-time
// spectra: its instantaneous frequency, its power in each channel and what the
// channels have in common. Streaming; block size changes nothing.
#ifndef DW_MEASURE_TONE_TRACK_H
#define DW_MEASURE_TONE_TRACK_H

#include <stdbool.h>
#include <stddef.h>

typedef struct {
    double rate_hz;
    unsigned channels;      // 1 or 2
    size_t size;            // samples of a spectrum, even
    double low_hz, high_hz; // tones outside are not followed
    size_t overlap;         // a new spectrum each SIZE/OVERLAP samples; 2 or 4
    bool equalise;          // judge what stands out behind an RIAA replay curve
} DwToneTrackSettings;

// One spectrum's worth: Hann-weighted means over SIZE samples. Powers are mean
// squares. A sweep's whole width is taken in, so its power is exact.
typedef struct {
    double time_s;       // of the middle, from the first sample pushed
    double frequency_hz; // NAN when no tone stands out: the rest is then zero
    double power[2];
    double lopsided;  // how far the middle of its energy lies off its own, as a share of it: 0 for a lasting tone
    double common[2]; // right times the conjugate of left: real and imaginary part
} DwToneFrame;

typedef struct DwToneTrack DwToneTrack;
typedef void (*DwToneVisit)(const DwToneFrame *frame, void *user);

// The caller frees it with dw_tone_track_free().
DwToneTrack *dw_tone_track_new(DwToneTrackSettings settings);
void dw_tone_track_free(DwToneTrack *track);
// Takes FRAMES interleaved frames and hands every spectrum that is complete to VISIT.
void dw_tone_track_push(DwToneTrack *track, const float *interleaved, size_t frames, DwToneVisit visit, void *user);

// How many bins a spectrum over WINDOW_S counts to a tone of FREQUENCY_HZ.
double dw_tone_track_bins(double window_s, double frequency_hz);
// Lets COUNT frames pass unseen: spectra begin anew after them.
void dw_tone_track_skip(DwToneTrack *track, size_t count);

#endif
