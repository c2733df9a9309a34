// SPDX-License-Identifier: MIT
#include "synth/band_noise.h"

#include <math.h>

static double filter(DwBandNoise *noise, double value)
{
    dw_sections_run(&noise->low_cut, &value, 1);
    dw_sections_run(&noise->high_cut, &value, 1);
    dw_sections_run(&noise->shape, &value, 1);
    return value;
}

void dw_band_noise_init(DwBandNoise *noise, uint64_t seed, DwStream stream, double low_hz, double high_hz,
                        double rate_hz)
{
    dw_band_noise_init_shaped(noise, seed, stream, low_hz, high_hz, rate_hz, &(DwSections){.count = 0});
}

void dw_band_noise_init_shaped(DwBandNoise *noise, uint64_t seed, DwStream stream, double low_hz, double high_hz,
                               double rate_hz, const DwSections *shape)
{
    noise->shape = *shape;
    noise->low_cut = dw_sections_highpass(2, low_hz, rate_hz);
    noise->high_cut = dw_sections_lowpass(2, high_hz, rate_hz);
    dw_random_init(&noise->random, seed, stream);
    // Three periods of the low edge let the response die away to e^-13.
    double energy = 0;
    for (double at = 0; at < 3 * rate_hz / low_hz; at++) {
        double response = filter(noise, at == 0);
        energy += response * response;
    }
    noise->gain = 1 / sqrt(energy);
    dw_sections_reset(&noise->low_cut);
    dw_sections_reset(&noise->high_cut);
    dw_sections_reset(&noise->shape);
}

double dw_band_noise_next(DwBandNoise *noise)
{
    return noise->gain * filter(noise, dw_random_normal(&noise->random));
}
