// SPDX-License-Identifier: MIT
#include "dsp/fir.h"

#include "base/memory.h"
#include "base/wide.h"

#include <gsl/gsl_sf_bessel.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

// The Kaiser window at POSITION, −1 … 1.
static double kaiser(double position, double beta)
{
    double inside = 1 - position * position;
    return inside <= 0 ? 1 / gsl_sf_bessel_I0(beta) : gsl_sf_bessel_I0(beta * sqrt(inside)) / gsl_sf_bessel_I0(beta);
}

static double kaiser_beta(double attenuation_db)
{
    if (attenuation_db > 50)
        return 0.1102 * (attenuation_db - 8.7);
    if (attenuation_db > 21)
        return 0.5842 * pow(attenuation_db - 21, 0.4) + 0.07886 * (attenuation_db - 21);
    return 0;
}

DwFir dw_fir_lowpass(double pass, double stop, double attenuation_db)
{
    double cut = 0.5 * (pass + stop);
    size_t half = (size_t)ceil((attenuation_db - 7.95) / (2.285 * 2 * M_PI * (stop - pass)) / 2);
    DwFir fir = {.count = 2 * half + 1};
    fir.taps = dw_memory_new(fir.count, sizeof *fir.taps);
    double beta = kaiser_beta(attenuation_db), sum = 0;
    for (size_t i = 0; i < fir.count; i++) {
        double t = (double)i - (double)half;
        double sinc = t == 0 ? 2 * cut : sin(2 * M_PI * cut * t) / (M_PI * t);
        fir.taps[i] = sinc * kaiser(t / ((double)half + 1), beta);
        sum += fir.taps[i];
    }
    for (size_t i = 0; i < fir.count; i++)
        fir.taps[i] /= sum;
    return fir;
}

DwFir dw_fir_follow(double (*magnitude)(double frequency, const void *user), const void *user, size_t count,
                    double beta)
{
    size_t half = count / 2, points = 16 * count, period = 4 * points;
    DwFir fir = {.count = 2 * half + 1};
    fir.taps = dw_memory_new(fir.count, sizeof *fir.taps);
    double *gains = dw_memory_new(points, sizeof *gains);
    for (size_t k = 0; k < points; k++)
        gains[k] = magnitude(0.5 * ((double)k + 0.5) / (double)points, user);
    double *cosine = dw_memory_new(period, sizeof *cosine); // one period serves all sums
    for (size_t k = 0; k < period; k++)
        cosine[k] = cos(2 * M_PI * (double)k / (double)period);
    for (size_t i = 0; i <= half; i++) {
        double sum = 0;
        for (size_t k = 0; k < points; k++)
            sum += gains[k] * cosine[(2 * k + 1) * i % period];
        double tap = sum / (double)points * kaiser((double)i / ((double)half + 1), beta);
        fir.taps[half + i] = tap;
        fir.taps[half - i] = tap;
    }
    free(gains);
    free(cosine);
    return fir;
}

void dw_fir_clear(DwFir *fir)
{
    free(fir->taps);
    *fir = (DwFir){0};
}

double dw_fir_gain(const DwFir *fir, double frequency)
{
    size_t half = fir->count / 2;
    double gain = fir->taps[half];
    for (size_t i = 1; i <= half; i++)
        gain += 2 * fir->taps[half + i] * cos(2 * M_PI * frequency * (double)i);
    return gain;
}

enum { CHUNK = 1024 };

// One chunk of output from its padded input: COUNT outputs need COUNT + taps − 1.
DW_WIDE static void run_chunk(const DwFir *fir, const double *restrict padded, double *restrict output, size_t count)
{
    size_t half = fir->count / 2;
    const double *middle = padded + half;
    for (size_t n = 0; n < count; n++)
        output[n] = fir->taps[half] * middle[n];
    size_t i = 1;
    for (; i + 3 <= half; i += 4) { // the innermost loop runs along the signal and vectorises; four taps a pass
        const double *tap = fir->taps + half + i, *before = middle - i, *after = middle + i;
        double first = tap[0], second = tap[1], third = tap[2], fourth = tap[3];
        for (size_t n = 0; n < count; n++)
            output[n] = (((output[n] + first * (before[n] + after[n])) + second * (before[n - 1] + after[n + 1])) +
                         third * (before[n - 2] + after[n + 2])) +
                        fourth * (before[n - 3] + after[n + 3]);
    }
    for (; i <= half; i++)
        for (size_t n = 0; n < count; n++)
            output[n] += fir->taps[half + i] * (middle[n - i] + middle[n + i]);
}

void dw_fir_run(const DwFir *fir, const double *input, double *output, size_t count)
{
    size_t half = fir->count / 2;
    double *padded = dw_memory_new(CHUNK + 2 * half, sizeof *padded);
    for (size_t start = 0; start < count; start += CHUNK) {
        size_t span = count - start < CHUNK ? count - start : CHUNK;
        // What the chunk before has read is kept, for its output may stand there now.
        size_t kept = start ? 2 * half : 0;
        memmove(padded, padded + CHUNK, kept * sizeof *padded);
        for (size_t i = kept; i < span + 2 * half; i++) {
            size_t at = start + i;
            padded[i] = at < half ? input[0] : at - half < count ? input[at - half] : input[count - 1];
        }
        run_chunk(fir, padded, output + start, span);
    }
    free(padded);
}
