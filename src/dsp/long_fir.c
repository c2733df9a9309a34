// SPDX-License-Identifier: MIT
#include "dsp/long_fir.h"

#include "base/memory.h"
#include "dsp/planner.h"

#include <fftw3.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    OVERSAMPLING = 8, // of the grid on which the phase is found, over the taps
    BLOCKS = 4        // a transform holds so many times the taps
};

struct DwLongFir {
    size_t count, size;
    double *block;
    fftw_complex *bins, *response;
    fftw_plan forth, back;
};

// Fills TAPS[count] from the logarithm of the magnitude on a grid of SIZE points.
static void least_phase(double (*magnitude)(double, const void *), const void *user, size_t size, double *taps,
                        size_t count)
{
    double *cepstrum = fftw_alloc_real(size);
    fftw_complex *bins = fftw_alloc_complex(size / 2 + 1);
    dw_planner_lock();
    fftw_plan forth = fftw_plan_dft_r2c_1d((int)size, cepstrum, bins, FFTW_ESTIMATE);
    fftw_plan back = fftw_plan_dft_c2r_1d((int)size, bins, cepstrum, FFTW_ESTIMATE);
    dw_planner_unlock();
    for (size_t k = 0; k <= size / 2; k++) {
        double place = k ? (double)k : 0.5; // a high-pass has no logarithm at zero
        bins[k][0] = log(magnitude(place / (double)size, user));
        bins[k][1] = 0;
    }
    fftw_execute(back);
    for (size_t n = 0; n < size; n++) {
        double fold = n == 0 || n == size / 2 ? 1 : n < size / 2 ? 2 : 0;
        cepstrum[n] *= fold / (double)size;
    }
    fftw_execute(forth);
    for (size_t k = 0; k <= size / 2; k++) {
        double gain = exp(bins[k][0]), phase = bins[k][1];
        bins[k][0] = gain * cos(phase);
        bins[k][1] = gain * sin(phase);
    }
    fftw_execute(back);
    for (size_t n = 0; n < count; n++)
        taps[n] = cepstrum[n] / (double)size;
    dw_planner_lock();
    fftw_destroy_plan(forth);
    fftw_destroy_plan(back);
    dw_planner_unlock();
    fftw_free(cepstrum);
    fftw_free(bins);
}

DwLongFir *dw_long_fir_new(double (*magnitude)(double frequency, const void *user), const void *user, size_t count)
{
    DwLongFir *fir = dw_memory_new(1, sizeof *fir);
    fir->count = count;
    fir->size = BLOCKS * count;
    fir->block = fftw_alloc_real(fir->size);
    fir->bins = fftw_alloc_complex(fir->size / 2 + 1);
    fir->response = fftw_alloc_complex(fir->size / 2 + 1);
    dw_planner_lock();
    fir->forth = fftw_plan_dft_r2c_1d((int)fir->size, fir->block, fir->bins, FFTW_ESTIMATE);
    fir->back = fftw_plan_dft_c2r_1d((int)fir->size, fir->bins, fir->block, FFTW_ESTIMATE);
    dw_planner_unlock();
    memset(fir->block, 0, fir->size * sizeof *fir->block);
    least_phase(magnitude, user, OVERSAMPLING * count, fir->block, count);
    fftw_execute(fir->forth);
    memcpy(fir->response, fir->bins, (fir->size / 2 + 1) * sizeof *fir->bins);
    return fir;
}

void dw_long_fir_free(DwLongFir *fir)
{
    if (!fir)
        return;
    dw_planner_lock();
    fftw_destroy_plan(fir->forth);
    fftw_destroy_plan(fir->back);
    dw_planner_unlock();
    fftw_free(fir->block);
    fftw_free(fir->bins);
    fftw_free(fir->response);
    free(fir);
}

static void convolve(DwLongFir *fir)
{
    fftw_execute(fir->forth);
    double scale = 1 / (double)fir->size;
    for (size_t k = 0; k <= fir->size / 2; k++) {
        double re = fir->bins[k][0], im = fir->bins[k][1], c = fir->response[k][0], s = fir->response[k][1];
        fir->bins[k][0] = scale * (re * c - im * s);
        fir->bins[k][1] = scale * (re * s + im * c);
    }
    fftw_execute(fir->back);
}

void dw_long_fir_run(DwLongFir *fir, double *samples, size_t count, double (*before)(size_t step, const void *user),
                     const void *user)
{
    size_t step = fir->size - fir->count;
    // The last block first, so that what comes before a block still stands as it was.
    for (size_t blocks = (count + step - 1) / step; blocks-- > 0;) {
        size_t from = blocks * step, end = from + step < count ? from + step : count;
        for (size_t i = 0; i < fir->size; i++) {
            size_t place = from + i; // of a stream that begins `count` taps before the samples
            if (place < fir->count)
                fir->block[i] = before(fir->count - place, user);
            else
                fir->block[i] = place - fir->count < end ? samples[place - fir->count] : 0;
        }
        convolve(fir);
        memcpy(samples + from, fir->block + fir->count, (end - from) * sizeof *samples);
    }
}
