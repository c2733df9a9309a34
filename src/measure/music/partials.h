// SPDX-License-Identifier: MIT
// Partials that are held: peaks of short spectra that stay for more than a second.
#ifndef DW_MEASURE_PARTIALS_H
#define DW_MEASURE_PARTIALS_H

#include <stddef.h>

// One peak followed from spectrum to spectrum.
typedef struct {
    size_t from;  // the spectrum it is first seen in
    size_t count; // of spectra
    float *hz;    // its frequency in each
    float level;  // mean amplitude, full scale 1
} DwPartial;

typedef struct {
    DwPartial *partial; // in order of their beginnings
    size_t count;
    double first_s, hop_s; // the middle of the first spectrum, and from one to the next
} DwPartials;

// The partials of SAMPLES[COUNT] at RATE_HZ [Hz] that stay a second or longer. dw_partials_clear() frees what it holds.
//
// Method: peaks of Hann spectra of 0.35 s, ten a second, that stand 10 dB over what surrounds them (mean of the
// decibels) and within 65 dB of the loudest; each goes on where the next spectrum has one nearby, one miss allowed.
DwPartials dw_partials_find(const float *samples, size_t count, double rate_hz);
void dw_partials_clear(DwPartials *partials);

#endif
