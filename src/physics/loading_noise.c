// SPDX-License-Identifier: MIT
#include "physics/loading_noise.h"

#include "physics/a_weighting.h"
#include "physics/riaa.h"

#include <complex.h>
#include <math.h>

#define BOLTZMANN 1.380649e-23 // J/K, exact (SI 2019)

double dw_loading_thermal_density(double resistance_ohm, double temperature_k)
{
    return sqrt(4 * BOLTZMANN * temperature_k * resistance_ohm);
}

static double complex impedance(const DwLoading *loading, double omega)
{
    double complex coil = loading->resistance_ohm + I * omega * loading->inductance_h;
    double complex load = 1 / loading->load_resistance_ohm + I * omega * loading->load_capacitance_f;
    return 1 / (1 / coil + load);
}

DwLoadingNoiseLevel dw_loading_noise(const DwLoading *loading, const DwLoadingNoise *noise)
{
    // Simpson's rule over the logarithm of frequency: df = f d(ln f). Steps of a
    // sixtieth of an octave are far finer than any resonance met here.
    enum { STEPS = 600 };
    double step = log(20000.0 / 20) / STEPS;
    double source = 0, amplifier = 0;
    for (int i = 0; i <= STEPS; i++) {
        double frequency = 20 * exp(step * i);
        double complex z = impedance(loading, 2 * M_PI * frequency);
        double gain_db = (noise->equalised ? dw_riaa_replay_db(frequency, false) : 0) +
                         (noise->a_weighted ? dw_a_weighting_db(frequency) : 0);
        double current = noise->current_a * cabs(z);
        double weight = (i == 0 || i == STEPS ? 1 : i % 2 ? 4 : 2) * step / 3 * frequency * pow(10, gain_db / 10);
        source += weight * 4 * BOLTZMANN * noise->temperature_k * creal(z);
        amplifier += weight * (noise->voltage_v * noise->voltage_v + current * current);
    }
    return (DwLoadingNoiseLevel){.source_v = sqrt(source), .amplifier_v = sqrt(amplifier)};
}
