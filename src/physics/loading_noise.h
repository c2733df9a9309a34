// SPDX-License-Identifier: MIT
// The hiss of a loaded cartridge against that of its preamplifier.
#ifndef DW_PHYSICS_LOADING_NOISE_H
#define DW_PHYSICS_LOADING_NOISE_H

#include "physics/loading.h"

#include <stdbool.h>

typedef struct {
    double voltage_v; // noise voltage density of the amplifier [V/√Hz]
    double current_a; // noise current density [A/√Hz]
    double temperature_k;
    bool equalised;  // RIAA replay, 0 dB at 1 kHz; else flat
    bool a_weighted; // as a sound level meter weighs it, 0 dB at 1 kHz (physics/a_weighting.h)
} DwLoadingNoise;

typedef struct {
    double source_v;    // thermal noise of coil and load resistor, at the amplifier's input
    double amplifier_v; // what the amplifier adds there
} DwLoadingNoiseLevel;

// Rms noise between 20 Hz and 20 kHz.
// Given: the network and the amplifier.
// Returned: √∫4kT·Re Z·|H|²df and √∫(e² + (i|Z|)²)|H|²df with Z = (R + jωL) ∥ R_L ∥ C.
// Accuracy: 0.01 % of the integral; the amplifier's densities are taken flat.
// Reference: H. Nyquist, "Thermal Agitation of Electric Charge in Conductors",
// Physical Review, 1928. Hallgren, "On the Noise Performance of a Magnetic
// Phonograph Pickup", Journal of the Audio Engineering Society, 1975, from memory.
DwLoadingNoiseLevel dw_loading_noise(const DwLoading *loading, const DwLoadingNoise *noise);

// The thermal noise density of a resistance [V/√Hz].
double dw_loading_thermal_density(double resistance_ohm, double temperature_k);

#endif
