// SPDX-License-Identifier: MIT
#include "measure/music/twin_window.h"

#include "base/memory.h"
#include "dsp/cross_spectrum.h"

#include <complex.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { TAPS = 8, PHASES = 512 }; // each way, of the interpolation; its table

static const double LOW_HZ = 90, HIGH_HZ = 4200;
static const double WHITE = 0.6;  // of each bin's magnitude is taken out
static const double SOUND = 1e-9; // of a window's mean square
static const int SMOOTH = 6;      // bins either way, of the phase learnt

struct DwTwinWindow {
    DwTwinSound one, two;
    size_t size; // samples of the first
    size_t low, high;
    DwCross *cross;
    double *hann, *samples, *correlation;
    double (*first)[2], (*second)[2], (*weighted)[2];
    double *weight;
    double complex *learnt, *phase; // PHASE is NULL until it is settled
    float *kernel;                  // (PHASES + 1) × 2 TAPS
};

static void make_kernel(DwTwinWindow *window)
{
    window->kernel = dw_memory_new((PHASES + 1) * 2 * TAPS, sizeof(float));
    for (int p = 0; p <= PHASES; p++) {
        double sum = 0;
        float *row = window->kernel + (size_t)p * 2 * TAPS;
        for (int k = 0; k < 2 * TAPS; k++) {
            double x = k - (TAPS - 1) - (double)p / PHASES;
            double sinc = fabs(x) < 1e-9 ? 1 : sin(M_PI * x) / (M_PI * x), y = x / TAPS;
            double taper = fabs(y) < 1 ? cos(M_PI / 2 * y) : 0;
            row[k] = (float)(sinc * taper * taper);
            sum += row[k];
        }
        for (int k = 0; k < 2 * TAPS; k++)
            row[k] = (float)(row[k] / sum);
    }
}

DwTwinWindow *dw_twin_window_new(const DwTwinSound *one, const DwTwinSound *two, double length_s)
{
    DwTwinWindow *window = dw_memory_new(1, sizeof *window);
    window->one = *one;
    window->two = *two;
    window->size = 256;
    while ((double)window->size * M_SQRT2 < length_s * one->rate_hz)
        window->size *= 2;
    size_t bins = window->size + 1; // zeros behind make it twice as long
    double bin_hz = one->rate_hz / (2 * (double)window->size);
    window->low = (size_t)(LOW_HZ / bin_hz);
    window->high = (size_t)(fmin(HIGH_HZ, 0.4 * fmin(one->rate_hz, two->rate_hz)) / bin_hz);
    window->cross = dw_cross_new(2 * window->size);
    window->hann = dw_memory_new(window->size, sizeof(double));
    for (size_t n = 0; n < window->size; n++)
        window->hann[n] = 0.5 - 0.5 * cos(2 * M_PI * ((double)n + 0.5) / (double)window->size);
    window->samples = dw_memory_new(2 * window->size, sizeof(double));
    window->correlation = dw_memory_new(2 * window->size, sizeof(double));
    window->first = dw_memory_new(bins, sizeof *window->first);
    window->second = dw_memory_new(bins, sizeof *window->second);
    window->weighted = dw_memory_new(bins, sizeof *window->weighted);
    window->weight = dw_memory_new(bins, sizeof(double));
    window->learnt = dw_memory_new(bins, sizeof *window->learnt);
    make_kernel(window);
    return window;
}

void dw_twin_window_free(DwTwinWindow *window)
{
    if (!window)
        return;
    dw_cross_free(window->cross);
    free(window->hann);
    free(window->samples);
    free(window->correlation);
    free(window->first);
    free(window->second);
    free(window->weighted);
    free(window->weight);
    free(window->learnt);
    free(window->phase);
    free(window->kernel);
    free(window);
}

double dw_twin_window_length_s(const DwTwinWindow *window)
{
    return (double)window->size / window->one.rate_hz;
}

// --- reading ---------------------------------------------------------------------

static double read_first(DwTwinWindow *window, double at_s, double *middle_s)
{
    double from = round(at_s * window->one.rate_hz - (double)window->size / 2);
    if (from < 0 || from + (double)window->size > (double)window->one.count)
        return -1;
    const float *samples = window->one.samples + (size_t)from;
    double squares = 0;
    for (size_t n = 0; n < window->size; n++) {
        squares += samples[n] * samples[n];
        window->samples[n] = window->hann[n] * samples[n];
    }
    *middle_s = (from + (double)window->size / 2) / window->one.rate_hz;
    return squares / (double)window->size;
}

// The second's samples at the first's times, by GUESS.
static double read_second(DwTwinWindow *window, const DwTwinGuess *guess, double middle_s)
{
    double rate_hz = window->two.rate_hz, step = guess->ratio * rate_hz / window->one.rate_hz;
    double place =
        (guess->other_s + (middle_s - guess->at_s) * guess->ratio) * rate_hz - step * (double)window->size / 2;
    if (place < TAPS || place + step * (double)window->size + TAPS >= (double)window->two.count)
        return -1;
    double squares = 0;
    for (size_t n = 0; n < window->size; n++, place += step) {
        size_t at = (size_t)place;
        size_t phase = (size_t)((place - (double)at) * PHASES + 0.5);
        const float *row = window->kernel + phase * 2 * TAPS, *from = window->two.samples + at - (TAPS - 1);
        float sum = 0;
        for (size_t k = 0; k < 2 * (size_t)TAPS; k++)
            sum += row[k] * from[k];
        squares += (double)sum * sum;
        window->samples[n] = window->hann[n] * (double)sum;
    }
    return squares / (double)window->size;
}

// --- matching --------------------------------------------------------------------

static void weigh_bins(DwTwinWindow *window)
{
    memset(window->weighted, 0, (window->size + 1) * sizeof *window->weighted);
    for (size_t k = window->low; k <= window->high; k++) {
        double complex a = window->first[k][0] + I * window->first[k][1];
        double complex c = conj(a) * (window->second[k][0] + I * window->second[k][1]);
        if (window->phase)
            c *= window->phase[k];
        double size = cabs(c);
        window->weight[k] = pow(size + 1e-30, 1 - WHITE);
        double complex w = size > 0 ? c / size * window->weight[k] : 0;
        window->weighted[k][0] = creal(w);
        window->weighted[k][1] = cimag(w);
    }
}

static double find_peak(DwTwinWindow *window, double reach, double *sign)
{
    size_t size = 2 * window->size;
    dw_cross_correlate(window->cross, (const double(*)[2])window->weighted, window->correlation);
    long most = (long)fmin(reach, (double)window->size / 2), found = 0;
    double best = -1;
    for (long n = -most; n <= most; n++) {
        double value = fabs(window->correlation[(size_t)(n + (long)size) % size]);
        if (value > best) {
            best = value;
            found = n;
        }
    }
    *sign = window->correlation[(size_t)(found + (long)size) % size] < 0 ? -1 : 1;
    return (double)found;
}

// Brings the delay to where the phases of all bins agree best: Newton's steps on the sum of their cosines.
static double refine(const DwTwinWindow *window, double delay, double sign, double *quality)
{
    for (int step = 0; step < 4; step++) {
        double slope = 0, bend = 0, agree = 0, all = 0;
        double angle = 2 * M_PI / (2 * (double)window->size);
        double complex turn = cexp(I * angle * delay * (double)window->low), on = cexp(I * angle * delay);
        for (size_t k = window->low; k <= window->high; k++, turn *= on) {
            double complex c = (window->weighted[k][0] + I * window->weighted[k][1]) * turn * sign;
            double w = angle * (double)k;
            agree += creal(c);
            slope += w * cimag(c);
            bend += w * w * creal(c);
            all += window->weight[k];
        }
        *quality = all > 0 ? fmax(0, agree / all) : 0;
        if (bend <= 0)
            break;
        delay -= fmin(fmax(slope / bend, -1), 1);
    }
    return delay;
}

bool dw_twin_window_match(DwTwinWindow *window, const DwTwinGuess *guess, double reach_s, DwTwinMatch *match)
{
    double middle_s = 0;
    if (read_first(window, guess->at_s, &middle_s) < SOUND)
        return false;
    dw_cross_transform(window->cross, window->samples, window->size, window->first);
    if (read_second(window, guess, middle_s) < SOUND)
        return false;
    dw_cross_transform(window->cross, window->samples, window->size, window->second);
    weigh_bins(window);
    double delay = find_peak(window, reach_s * window->one.rate_hz, &match->sign);
    delay = refine(window, delay, match->sign, &match->quality);
    match->delay = delay;
    match->late_s = delay / window->one.rate_hz * guess->ratio;
    return true;
}

// --- the phase in common -----------------------------------------------------------

void dw_twin_window_learn(DwTwinWindow *window, const DwTwinMatch *match)
{
    double angle = 2 * M_PI / (2 * (double)window->size) * match->delay;
    for (size_t k = window->low; k <= window->high; k++)
        window->learnt[k] += match->quality * (window->weighted[k][0] + I * window->weighted[k][1]) * match->sign *
                             cexp(I * angle * (double)k);
}

void dw_twin_window_settle(DwTwinWindow *window)
{
    if (!window->phase)
        window->phase = dw_memory_new(window->size + 1, sizeof *window->phase);
    for (size_t k = window->low; k <= window->high; k++) {
        double complex sum = 0;
        for (int d = -SMOOTH; d <= SMOOTH; d++)
            if ((long)k + d >= (long)window->low && k + (size_t)d <= window->high)
                sum += window->learnt[(long)k + d];
        double size = cabs(sum);
        window->phase[k] = size > 0 ? conj(sum) / size : 1;
    }
    // A phase that grows evenly with frequency is time, and stays.
    double slope = 0, all = 0;
    for (size_t k = window->low; k < window->high; k++) {
        double w = cabs(window->learnt[k]);
        slope += w * carg(window->phase[k + 1] * conj(window->phase[k]));
        all += w;
    }
    slope = all > 0 ? slope / all : 0;
    for (size_t k = window->low; k <= window->high; k++)
        window->phase[k] *= cexp(-I * slope * (double)k);
}
