// SPDX-License-Identifier: MIT
// Spectra by FFT. Creating takes a lock (FFTW's planner is not thread-safe);
// running two different objects at once is safe.
#ifndef DW_DSP_SPECTRUM_H
#define DW_DSP_SPECTRUM_H

#include <stddef.h>

typedef struct DwFft DwFft;

// A transform of SIZE real samples under a Hann window.
DwFft *dw_fft_new(size_t size);
void dw_fft_free(DwFft *fft);
// POWER[SIZE/2 + 1] of SAMPLES[SIZE]: a sine of amplitude A on a bin gives A²
// there (bins 0 and SIZE/2 twice that of a steady value).
void dw_fft_power(DwFft *fft, const float *samples, double *power);
void dw_fft_power_double(DwFft *fft, const double *samples, double *power);
// The bins themselves, BINS[SIZE/2 + 1] pairs of real and imaginary part, of
// which dw_fft_power gives the squared magnitudes. The phase is that at the first sample.
void dw_fft_bins(DwFft *fft, const float *samples, double (*bins)[2]);
void dw_fft_bins_double(DwFft *fft, const double *samples, double (*bins)[2]);

// The mean power spectrum of SAMPLES[COUNT] in half-overlapping Hann segments
// of at most LONGEST samples (Welch).
typedef struct {
    double *power; // amplitude squared of a sine on the bin
    size_t bins;
    double step; // bin width as a fraction of the sampling rate
    size_t segments;
} DwSpectrum;

// Reference: P. D. Welch, IEEE Trans. Audio Electroacoust. AU-15 (1967) 70–73.
DwSpectrum dw_spectrum_of(const double *samples, size_t count, size_t longest);
void dw_spectrum_clear(DwSpectrum *spectrum);
// The place of a peak near BIN, in bins, from the power of three bins of a Hann
// window (exact for a lone sine).
double dw_spectrum_peak_bin(const double *power, size_t bin);

// The complex amplitude (peak) at FREQUENCY (fraction of the rate) of
// SAMPLES[COUNT] under a Hann window, counting only samples where USED is not
// zero (NULL: all). The phase is that of a cosine at sample 0.
void dw_spectrum_line(const double *samples, const unsigned char *used, size_t count, double frequency, double *real,
                      double *imaginary);

#endif
