// SPDX-License-Identifier: MIT
// Mixes a tone of up to two joined channels to zero frequency, low-passes it and
// gives its frequency and amplitude about a thousand times a second. Streaming;
// block size changes nothing.
#ifndef DW_MEASURE_DEMODULATOR_H
#define DW_MEASURE_DEMODULATOR_H

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>

typedef struct DwDemodulator DwDemodulator;

// For samples at RATE_HZ, 8000 or more.
DwDemodulator *dw_demodulator_new(double rate_hz);
void dw_demodulator_free(DwDemodulator *demodulator);
// Begins with a tone near FREQUENCY_HZ. The channels are summed by WEIGHT.
void dw_demodulator_start(DwDemodulator *demodulator, double frequency_hz, const double complex weight[2]);
// From the next sample on the mixer glides to OFF_HZ off the frequency begun with, for a
// tone that strays further than the low-pass is flat. Deviations still count from
// the frequency begun with: the mixer's own phase is added back.
void dw_demodulator_retune(DwDemodulator *demodulator, double off_hz);
// Where it stands, or glides to.
double dw_demodulator_tuned_hz(const DwDemodulator *demodulator);
// Takes COUNT samples of each channel; CHANNEL[1] is NULL in mono.
void dw_demodulator_push(DwDemodulator *demodulator, const float *const channel[2], size_t count);
// Writes the next value if it is complete: how far the frequency is off the one
// begun with (0 for the first), and the tone's peak amplitude.
bool dw_demodulator_next(DwDemodulator *demodulator, double *deviation_hz, double *amplitude);

// Values a second.
double dw_demodulator_rate_hz(const DwDemodulator *demodulator);
// Samples from one value to the next, and from the first sample to the first value.
size_t dw_demodulator_step(const DwDemodulator *demodulator);
size_t dw_demodulator_lead(const DwDemodulator *demodulator);
// The low-pass's gain FREQUENCY_HZ off the tone: flat to 260 Hz, nothing from 600 Hz on.
double dw_demodulator_gain(const DwDemodulator *demodulator, double frequency_hz);
// Half the time that it smears a click over, seconds.
double dw_demodulator_smear_s(const DwDemodulator *demodulator);

#endif
