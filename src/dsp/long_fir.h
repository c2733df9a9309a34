// SPDX-License-Identifier: MIT
// A filter of thousands of taps that follows a wanted magnitude with the least phase
// that goes with it, as a network of poles and zeros has; run by fast convolution.
#ifndef DW_DSP_LONG_FIR_H
#define DW_DSP_LONG_FIR_H

#include <stddef.h>

typedef struct DwLongFir DwLongFir;

// MAGNITUDE(frequency, user), above 0 at every frequency above 0; frequencies are fractions of the
// sampling rate. COUNT taps, a power of two.
// Accuracy: as good as the response has died away after COUNT taps.
// Reference: A. V. Oppenheim and R. W. Schafer, Digital Signal Processing (1975), 10.
// (least phase by the cepstrum; from memory).
DwLongFir *dw_long_fir_new(double (*magnitude)(double frequency, const void *user), const void *user, size_t count);
void dw_long_fir_free(DwLongFir *fir);
// Filters SAMPLES[COUNT] in place. BEFORE(step, user) is what stood STEP samples (from 1 on)
// before the first, as far back as the filter reaches.
void dw_long_fir_run(DwLongFir *fir, double *samples, size_t count, double (*before)(size_t step, const void *user),
                     const void *user);

#endif
