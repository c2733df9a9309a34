// SPDX-License-Identifier: MIT
#include "synth/band_noise.h"

#include <math.h>
#include <stdbool.h>

static DwSection butterworth(double edge_hz, double rate_hz, bool passes_high)
{
    double angle = 2 * M_PI * edge_hz / rate_hz;
    double cosine = cos(angle);
    double alpha = sin(angle) * M_SQRT1_2;
    double scale = 1 / (1 + alpha);
    double sign = passes_high ? -1 : 1;
    // 1 − cos is taken from the half angle: the edges are tiny beside the rate.
    double side = passes_high ? 1 + cosine : 2 * sin(angle / 2) * sin(angle / 2);
    return (DwSection){.b0 = side / 2 * scale, .b1 = sign * side * scale, .b2 = side / 2 * scale,
                       .a1 = -2 * cosine * scale, .a2 = (1 - alpha) * scale};
}

static double filter(DwSection *section, double value)
{
    double result = section->b0 * value + section->first;
    section->first = section->b1 * value - section->a1 * result + section->second;
    section->second = section->b2 * value - section->a2 * result;
    return result;
}

void dw_band_noise_init(DwBandNoise *noise, uint64_t seed, DwStream stream, double low_hz, double high_hz,
                        double rate_hz)
{
    DwSection low_cut = butterworth(low_hz, rate_hz, true);
    DwSection high_cut = butterworth(high_hz, rate_hz, false);
    *noise = (DwBandNoise){.low_cut = low_cut, .high_cut = high_cut};
    // Three periods of the low edge let the response die away to e^-13.
    double energy = 0;
    for (double at = 0; at < 3 * rate_hz / low_hz; at++) {
        double response = filter(&noise->high_cut, filter(&noise->low_cut, at == 0));
        energy += response * response;
    }
    *noise = (DwBandNoise){.low_cut = low_cut, .high_cut = high_cut, .gain = 1 / sqrt(energy)};
    dw_random_init(&noise->random, seed, stream);
}

double dw_band_noise_next(DwBandNoise *noise)
{
    double white = dw_random_normal(&noise->random);
    return noise->gain * filter(&noise->high_cut, filter(&noise->low_cut, white));
}
