// SPDX-License-Identifier: MIT
// The rate at which what was plucked repeats itself: a tone that begins with a knock and dies within tenths of a
// second. Feed, then ask.
#ifndef DW_MEASURE_PLUCK_H
#define DW_MEASURE_PLUCK_H

#include <stdbool.h>
#include <stddef.h>

typedef struct DwPluck DwPluck;

// Takes up to two minutes of CHANNELS interleaved at RATE_HZ. The caller frees it with dw_pluck_free().
DwPluck *dw_pluck_new(double rate_hz, unsigned channels);
void dw_pluck_free(DwPluck *pluck);
void dw_pluck_push(DwPluck *pluck, const float *interleaved, size_t frames);

typedef struct {
    double hz, off_hz; // median of the plucks, and its half-width (95 %)
    size_t plucks;
} DwPluckReading;

// False when nothing that rings between 8 and 500 Hz was plucked.
// Accuracy: 1 % where a pluck is heard for five periods.
// Reference: autocorrelation, normalised by the power of what is laid over itself; L. R. Rabiner, IEEE Trans. ASSP 25
// (1977) 24-33 (from memory).
bool dw_pluck_read(const DwPluck *pluck, DwPluckReading *reading);

#endif
