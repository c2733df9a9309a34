// SPDX-License-Identifier: MIT
// Random noise kept to a band of low frequencies: rumble, random flutter.
#ifndef DW_SYNTH_BAND_NOISE_H
#define DW_SYNTH_BAND_NOISE_H

#include "dsp/sections.h"
#include "synth/random.h"

// The band of random flutter.
#define DW_FLUTTER_LOW_HZ 2.0
#define DW_FLUTTER_HIGH_HZ 100.0

typedef struct {
    DwRandom random;
    DwSections low_cut, high_cut;
    DwSections shape; // of count 0 but for shaped noise
    double gain;
} DwBandNoise;

// Given: the band's edges [Hz, 3 dB down, 12 dB/octave beyond, Butterworth] and the sampling
//   rate [Hz].
// Accuracy: rms is 1 within 0.1 % over a long time: the gain is the inverse of
//   the energy of the filter's own impulse response.
void dw_band_noise_init(DwBandNoise *noise, uint64_t seed, DwStream stream, double low_hz, double high_hz,
                        double rate_hz);
// The same, passed through SHAPE as well (its response over after three periods
// of the low edge); the rms of 1 is that of what comes out.
void dw_band_noise_init_shaped(DwBandNoise *noise, uint64_t seed, DwStream stream, double low_hz, double high_hz,
                               double rate_hz, const DwSections *shape);
// The next value of the noise.
double dw_band_noise_next(DwBandNoise *noise);

#endif
