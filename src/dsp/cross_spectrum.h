// SPDX-License-Identifier: MIT
// What two signals have in common, by FFT. Creating takes a lock (FFTW's planner is not thread-safe).
#ifndef DW_DSP_CROSS_SPECTRUM_H
#define DW_DSP_CROSS_SPECTRUM_H

#include <stddef.h>

typedef struct DwCross DwCross;

// For pieces of SIZE samples, an even number. The caller frees it with dw_cross_free().
DwCross *dw_cross_new(size_t size);
void dw_cross_free(DwCross *cross);
// The spectrum BINS[SIZE/2 + 1], pairs of real and imaginary part, of SAMPLES[COUNT], zeros behind them; not scaled.
void dw_cross_transform(DwCross *cross, const double *samples, size_t count, double (*bins)[2]);
// CORRELATION[SIZE] of a cross-spectrum conj(A)·B: at n what A has in common with B moved back by n samples, at SIZE −
// n with B moved on by n. Not scaled by SIZE. Circular: zeros behind the samples keep the ends apart.
void dw_cross_correlate(DwCross *cross, const double (*bins)[2], double *correlation);

#endif
