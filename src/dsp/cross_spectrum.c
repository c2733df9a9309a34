// SPDX-License-Identifier: MIT
#include "dsp/cross_spectrum.h"

#include "base/memory.h"
#include "dsp/planner.h"

#include <fftw3.h>
#include <stdlib.h>
#include <string.h>

struct DwCross {
    size_t size;
    double *real;
    fftw_complex *bins;
    fftw_plan forward, back;
};

DwCross *dw_cross_new(size_t size)
{
    DwCross *cross = dw_memory_new(1, sizeof *cross);
    cross->size = size;
    dw_planner_lock();
    cross->real = fftw_alloc_real(size);
    cross->bins = fftw_alloc_complex(size / 2 + 1);
    cross->forward = fftw_plan_dft_r2c_1d((int)size, cross->real, cross->bins, FFTW_ESTIMATE);
    cross->back = fftw_plan_dft_c2r_1d((int)size, cross->bins, cross->real, FFTW_ESTIMATE);
    dw_planner_unlock();
    return cross;
}

void dw_cross_free(DwCross *cross)
{
    if (!cross)
        return;
    dw_planner_lock();
    fftw_destroy_plan(cross->forward);
    fftw_destroy_plan(cross->back);
    fftw_free(cross->real);
    fftw_free(cross->bins);
    dw_planner_unlock();
    free(cross);
}

void dw_cross_transform(DwCross *cross, const double *samples, size_t count, double (*bins)[2])
{
    memcpy(cross->real, samples, count * sizeof *samples);
    memset(cross->real + count, 0, (cross->size - count) * sizeof *cross->real);
    fftw_execute(cross->forward);
    memcpy(bins, cross->bins, (cross->size / 2 + 1) * sizeof *bins);
}

void dw_cross_correlate(DwCross *cross, const double (*bins)[2], double *correlation)
{
    memcpy(cross->bins, bins, (cross->size / 2 + 1) * sizeof *bins);
    fftw_execute(cross->back);
    memcpy(correlation, cross->real, cross->size * sizeof *correlation);
}
