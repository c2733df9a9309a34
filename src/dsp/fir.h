// SPDX-License-Identifier: MIT
// Linear-phase finite-impulse-response filters: design and plain filtering.
// Frequencies are fractions of the sampling rate, 0 to 0.5.
#ifndef DW_DSP_FIR_H
#define DW_DSP_FIR_H

#include <stddef.h>

// Taps, odd in number and symmetric; the delay is (count − 1)/2 samples.
typedef struct {
    double *taps;
    size_t count;
} DwFir;

// Low-pass by a Kaiser window: flat to PASS, down by ATTENUATION_DB from STOP on.
// Gain at zero frequency is 1 exactly.
// Reference: J. F. Kaiser, "Nonrecursive digital filter design using the
// I0-sinh window function", Proc. IEEE Symp. Circuits and Systems (1974) 20–23.
DwFir dw_fir_lowpass(double pass, double stop, double attenuation_db);

// A filter whose gain follows MAGNITUDE(frequency, user), COUNT taps (odd),
// by frequency sampling on a grid of at least 16 points a tap and a Kaiser
// window of shape BETA. Accuracy: as good as MAGNITUDE is smooth over 1/COUNT.
DwFir dw_fir_follow(double (*magnitude)(double frequency, const void *user), const void *user, size_t count,
                    double beta);

// Frees the coefficients.
void dw_fir_clear(DwFir *fir);
// The gain at FREQUENCY (real and signed, for the phase is linear).
double dw_fir_gain(const DwFir *fir, double frequency);
// Filters INPUT[COUNT] into OUTPUT[COUNT] without delay; before and after the
// input stand its first and last value. OUTPUT may be INPUT.
void dw_fir_run(const DwFir *fir, const double *input, double *output, size_t count);

#endif
