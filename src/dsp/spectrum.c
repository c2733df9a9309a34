// SPDX-License-Identifier: MIT
#include "dsp/spectrum.h"

#include "base/memory.h"
#include "dsp/planner.h"

#include <fftw3.h>
#include <math.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

static pthread_mutex_t planner = PTHREAD_MUTEX_INITIALIZER;

void dw_planner_lock(void)
{
    pthread_mutex_lock(&planner);
}

void dw_planner_unlock(void)
{
    pthread_mutex_unlock(&planner);
}

struct DwFft {
    size_t size;
    double *window; // scaled so that a sine of amplitude A on a bin gives |X| = A
    double *input;
    fftw_complex *output;
    fftw_plan plan;
};

DwFft *dw_fft_new(size_t size)
{
    DwFft *fft = dw_memory_new(1, sizeof *fft);
    fft->size = size;
    fft->window = dw_memory_new(size, sizeof *fft->window);
    for (size_t n = 0; n < size; n++)
        fft->window[n] = (1 - cos(2 * M_PI * (double)n / (double)size)) * 2 / (double)size;
    dw_planner_lock();
    fft->input = fftw_alloc_real(size);
    fft->output = fftw_alloc_complex(size / 2 + 1);
    fft->plan = fftw_plan_dft_r2c_1d((int)size, fft->input, fft->output, FFTW_ESTIMATE);
    dw_planner_unlock();
    return fft;
}

void dw_fft_free(DwFft *fft)
{
    if (!fft)
        return;
    dw_planner_lock();
    fftw_destroy_plan(fft->plan);
    fftw_free(fft->input);
    fftw_free(fft->output);
    dw_planner_unlock();
    free(fft->window);
    free(fft);
}

static void load(DwFft *fft, const float *samples)
{
    for (size_t n = 0; n < fft->size; n++)
        fft->input[n] = samples[n] * fft->window[n];
}

static void load_double(DwFft *fft, const double *samples)
{
    for (size_t n = 0; n < fft->size; n++)
        fft->input[n] = samples[n] * fft->window[n];
}

static void give_power(DwFft *fft, double *power)
{
    fftw_execute(fft->plan);
    for (size_t k = 0; k <= fft->size / 2; k++)
        power[k] = fft->output[k][0] * fft->output[k][0] + fft->output[k][1] * fft->output[k][1];
}

static void give_bins(DwFft *fft, double (*bins)[2])
{
    fftw_execute(fft->plan);
    memcpy(bins, fft->output, (fft->size / 2 + 1) * sizeof *bins);
}

void dw_fft_power(DwFft *fft, const float *samples, double *power)
{
    load(fft, samples);
    give_power(fft, power);
}

void dw_fft_power_double(DwFft *fft, const double *samples, double *power)
{
    load_double(fft, samples);
    give_power(fft, power);
}

void dw_fft_bins(DwFft *fft, const float *samples, double (*bins)[2])
{
    load(fft, samples);
    give_bins(fft, bins);
}

void dw_fft_bins_double(DwFft *fft, const double *samples, double (*bins)[2])
{
    load_double(fft, samples);
    give_bins(fft, bins);
}

DwSpectrum dw_spectrum_of(const double *samples, size_t count, size_t longest)
{
    size_t size = count < longest ? count & ~(size_t)1 : longest;
    DwSpectrum spectrum = {.bins = size / 2 + 1, .step = size ? 1.0 / (double)size : 0};
    spectrum.power = dw_memory_new(spectrum.bins, sizeof(double));
    if (size < 4)
        return spectrum;
    DwFft *fft = dw_fft_new(size);
    double *power = dw_memory_new(spectrum.bins, sizeof(double));
    size_t spare = count - size;
    size_t hops = (spare + size / 2 - 1) / (size / 2); // the last segment ends with the samples
    spectrum.segments = hops + 1;
    for (size_t i = 0; i <= hops; i++) {
        size_t start = hops ? (size_t)((double)spare * (double)i / (double)hops) : 0;
        dw_fft_power_double(fft, samples + start, power);
        for (size_t k = 0; k < spectrum.bins; k++)
            spectrum.power[k] += power[k] / (double)spectrum.segments;
    }
    free(power);
    dw_fft_free(fft);
    return spectrum;
}

void dw_spectrum_clear(DwSpectrum *spectrum)
{
    free(spectrum->power);
    *spectrum = (DwSpectrum){0};
}

double dw_spectrum_peak_bin(const double *power, size_t bin)
{
    // Of a Hann window: the ratio r of the larger neighbour to the peak puts
    // the line (2r − 1)/(r + 1) of a bin towards that neighbour.
    double peak = sqrt(power[bin]), below = sqrt(power[bin - 1]), above = sqrt(power[bin + 1]);
    if (peak <= 0)
        return (double)bin;
    double ratio = fmax(below, above) / peak;
    double shift = (2 * ratio - 1) / (ratio + 1);
    return above >= below ? (double)bin + shift : (double)bin - shift;
}

void dw_spectrum_line(const double *samples, const unsigned char *used, size_t count, double frequency, double *real,
                      double *imaginary)
{
    // Two oscillators by rotation, set right again every block.
    enum { BLOCK = 256 };
    double sum_real = 0, sum_imaginary = 0, weight = 0;
    double turn_cos = cos(2 * M_PI * frequency), turn_sin = sin(2 * M_PI * frequency);
    double hann_cos = cos(2 * M_PI / (double)count), hann_sin = sin(2 * M_PI / (double)count);
    for (size_t start = 0; start < count; start += BLOCK) {
        double angle = 2 * M_PI * frequency * (double)start;
        double window_angle = 2 * M_PI * ((double)start + 0.5) / (double)count;
        double c = cos(angle), s = sin(angle), wc = cos(window_angle), ws = sin(window_angle);
        size_t end = start + BLOCK < count ? start + BLOCK : count;
        for (size_t n = start; n < end; n++) {
            double w = used && !used[n] ? 0 : 1 - wc;
            sum_real += w * samples[n] * c;
            sum_imaginary -= w * samples[n] * s;
            weight += w;
            double next = c * turn_cos - s * turn_sin;
            s = s * turn_cos + c * turn_sin;
            c = next;
            next = wc * hann_cos - ws * hann_sin;
            ws = ws * hann_cos + wc * hann_sin;
            wc = next;
        }
    }
    *real = weight > 0 ? 2 * sum_real / weight : 0;
    *imaginary = weight > 0 ? 2 * sum_imaginary / weight : 0;
}
