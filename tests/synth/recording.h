// SPDX-License-Identifier: MIT
// A whole synthetic recording in memory, for tests.
#ifndef DW_TESTS_SYNTH_RECORDING_H
#define DW_TESTS_SYNTH_RECORDING_H

#include "synth/synth.h"

typedef struct {
    DwSynth *synth;
    const DwSynthTruth *truth;
    float *samples; // interleaved
    size_t frames;
    size_t channels;
    double rate_hz;
} Recording;

// Makes the recording described by the operands, parted by single blanks, and
// stops the test when it is refused.
Recording recording_make(const char *operands);
void recording_clear(Recording *recording);
// Makes it again in blocks of SIZE frames (4096 at most) and holds each sample against WHOLE.
void recording_check_blocks(const Recording *whole, const char *operands, size_t size);
double recording_at(const Recording *recording, size_t frame, size_t channel);
// One channel as doubles. The caller frees it with free().
double *recording_channel(const Recording *recording, size_t channel);
// Mean square of one channel from FROM up to TO [s].
double recording_power(const Recording *recording, size_t channel, double from_s, double to_s);
// Peak and phase (sine, at the first frame) of FREQUENCY_HZ in COUNT values
// RATE_HZ apart: a naive sum under a Hann window.
double line_peak(const double *values, size_t count, double rate_hz, double frequency_hz, double *phase_rad);
// The speed of the tone against its nominal frequency, less 1, from the phase
// of the first channel: the tone is mixed to zero, averaged under Hann windows
// two blocks long and one block apart, and the phase's growth from window to
// window is counted. COUNT is written; the values lie BLOCK frames apart, the
// first at one and a half blocks. The caller frees them with free().
double *recording_speed(const Recording *recording, double from_s, double to_s, size_t block, size_t *count);
// How much of a line at FREQUENCY_HZ is left in those values, for windows of
// WINDOW_S (two blocks): the Hann window's own response, and that of a
// difference taken over half of it.
double recording_speed_loss(double frequency_hz, double window_s);
// Operands parted by single blanks, as inputs; NULL with MESSAGE when refused.
DwInputs *inputs_of(const char *operands, DwMessage *message);

#endif
