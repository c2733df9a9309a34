// SPDX-License-Identifier: MIT
// The level of a steady reference tone: the band that noise and levels are
// referred to.
#ifndef DW_MEASURE_REFERENCE_TONE_H
#define DW_MEASURE_REFERENCE_TONE_H

#include <stdbool.h>
#include <stddef.h>

typedef struct {
    double frequency_hz;
    unsigned channels;  // of the recording; 0 where the level was stated
    double rms[2];      // of each channel, of the tone alone; in a recording of one channel both are its
    double correlation; // 1: the channels are in phase (lateral), −1: opposed (vertical)
    double length_s;
} DwReferenceTone;

typedef struct DwReferenceTones DwReferenceTones;

// For recordings of RATE_HZ [Hz], fed interleaved frames, full scale ±1. The caller frees it with
// dw_reference_tones_free().
DwReferenceTones *dw_reference_tones_new(double rate_hz, unsigned channels);
void dw_reference_tones_free(DwReferenceTones *tones);
void dw_reference_tones_push(DwReferenceTones *tones, const float *interleaved, size_t frames);
// The tone that the recording held longest. Returned: false when none was steady
// for half a second.
bool dw_reference_tones_read(const DwReferenceTones *tones, DwReferenceTone *tone);

#endif
