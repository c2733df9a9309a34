// SPDX-License-Identifier: MIT
// Test signals with known truth: a two-channel buffer, reproducible noise, and
// a wow that bends time as an off-centre record does.
#ifndef DW_TESTS_SUPPORT_SIGNAL_H
#define DW_TESTS_SUPPORT_SIGNAL_H

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

typedef struct {
    double rate_hz;
    size_t frames;
    float *samples; // interleaved left and right
} Signal;

static inline Signal signal_new(double rate_hz, double seconds)
{
    Signal signal = {rate_hz, (size_t)(rate_hz * seconds), NULL};
    signal.samples = calloc(signal.frames * 2, sizeof(float));
    return signal;
}

static inline void signal_free(Signal *signal)
{
    free(signal->samples);
}

// Uniform noise of standard deviation 1. Source (published): xorshift64*, S. Vigna, 2014.
static inline double signal_random(uint64_t *state)
{
    *state ^= *state >> 12;
    *state ^= *state << 25;
    *state ^= *state >> 27;
    return ((double)((*state * 2685821657736338717ull) >> 11) / 9007199254740992.0 - 0.5) * sqrt(12);
}

// The record's time at TIME under a wow of WOW (relative, peak) once per 1.8 s.
static inline double signal_bent(double time, double wow)
{
    double turn = 2 * M_PI / 1.8;
    return time + wow / turn * sin(turn * time);
}

// Adds a sine of FREQUENCY_HZ with its peak in each channel, from FROM to TO seconds.
static inline void signal_tone(Signal *signal, double from, double to, double frequency_hz, double left, double right,
                               double wow)
{
    for (size_t n = (size_t)(from * signal->rate_hz); n < signal->frames && (double)n < to * signal->rate_hz; n++) {
        double s = sin(2 * M_PI * frequency_hz * signal_bent((double)n / signal->rate_hz, wow));
        signal->samples[2 * n] += (float)(left * s);
        signal->samples[2 * n + 1] += (float)(right * s);
    }
}

// Adds white noise of RMS to each channel on its own.
static inline void signal_hiss(Signal *signal, double rms, uint64_t seed)
{
    for (size_t n = 0; n < 2 * signal->frames; n++)
        signal->samples[n] += (float)(rms * signal_random(&seed));
}

// Adds noise behind a one-pole low-pass y += POLE (x − y), the white noise in
// front having RMS; it goes into the channels with the shares given.
static inline void signal_rumble(Signal *signal, double rms, double pole, double left, double right, uint64_t seed)
{
    double y = 0;
    for (size_t n = 0; n < signal->frames; n++) {
        y += pole * (rms * signal_random(&seed) - y);
        signal->samples[2 * n] += (float)(left * y);
        signal->samples[2 * n + 1] += (float)(right * y);
    }
}

// The power gain of that low-pass, from its difference equation.
static inline double signal_rumble_gain(double pole, double frequency_hz, double rate_hz)
{
    double a = 1 - pole;
    return pole * pole / (1 - 2 * a * cos(2 * M_PI * frequency_hz / rate_hz) + a * a);
}

#endif
