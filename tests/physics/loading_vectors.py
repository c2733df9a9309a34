#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""Writes loading_vectors.h: the loaded cartridge solved another way.

Source (worked apart): the response comes from a modified nodal analysis (unknowns: two node voltages
and the coil current) solved by numpy at each frequency; the corner and the peak
from scipy's root finder and minimiser on that solution; the noise from scipy's
adaptive quadrature over the same matrix with each thermal source driven alone.
Nothing here uses the closed forms of src/physics/loading.c.

Run: /usr/bin/python3 loading_vectors.py > loading_vectors.h
"""
import numpy
from scipy import integrate, optimize

NETWORKS = [  # inductance H, coil ohm, load ohm, load F
    (0.500, 1000, 47e3, 100e-12), (0.500, 1000, 47e3, 500e-12), (0.700, 1300, 47e3, 250e-12),
    (0.080, 500, 47e3, 300e-12), (0.500, 1000, 100e3, 200e-12), (0.500, 1000, 33e3, 200e-12),
    (0.0003, 100, 470, 20.1e-9), (50e-6, 10, 100, 500e-12), (2.0, 3000, 220e3, 150e-12),
]
FREQUENCIES = [20, 1e3, 5e3, 10e3, 15e3, 20e3, 50e3]
BOLTZMANN, KELVIN = 1.380649e-23, 298.15


def output(network, frequency, coil_volts=1.0, load_amperes=0.0):
    """Output voltage; nodes: 0 behind the resistance, 1 the output; third row: the coil."""
    inductance, coil, load, capacitance = network
    s = 2j * numpy.pi * frequency
    matrix = numpy.array([
        [1 / coil, 0, 1],                        # current into node 0
        [0, 1 / load + s * capacitance, -1],     # current into node 1
        [1, -1, -s * inductance],                # the coil's own equation
    ], dtype=complex)
    return numpy.linalg.solve(matrix, numpy.array([coil_volts / coil, load_amperes, 0]))[1]


def level(network, frequency):
    return 20 * numpy.log10(abs(output(network, frequency)) / abs(output(network, 1e-3)))


def corner(network):
    low = 1e3
    while level(network, low * 1.2) > -10 * numpy.log10(2):
        low *= 1.2
    return optimize.brentq(lambda f: level(network, f) + 10 * numpy.log10(2), low, low * 1.2, xtol=1e-6)


def flat(network):
    """The load capacitance where the level neither rises nor falls as it leaves low frequencies."""
    def slope(capacitance):
        return level((*network[:3], capacitance * 1e-12), 200)
    high = 1.0
    while slope(high) < 0:
        high *= 1.5
    return optimize.brentq(slope, high / 1.5, high, xtol=1e-9) * 1e-12


def riaa(frequency):
    def one(f):
        w = 2j * numpy.pi * f
        return abs((1 + w * 318e-6) / ((1 + w * 3180e-6) * (1 + w * 75e-6)))
    return one(frequency) / one(1000)


def noise(network, equalised):
    def density(x):
        f = numpy.exp(x)
        coil = abs(output(network, f)) ** 2 * 4 * BOLTZMANN * KELVIN * network[1]
        load = abs(output(network, f, 0, 1)) ** 2 * 4 * BOLTZMANN * KELVIN / network[2]
        return f * (coil + load) * (riaa(f) ** 2 if equalised else 1)
    total = integrate.quad(density, numpy.log(20), numpy.log(20e3), limit=300, epsabs=0, epsrel=1e-9)[0]
    return total ** 0.5


def main():
    print("// SPDX-License-Identifier: MIT")
    print("// Written by loading_vectors.py; do not edit. Source (worked apart): modified nodal analysis, numpy and scipy.")
    print("static const double vector_frequencies[] = {%s};" % ", ".join("%g" % f for f in FREQUENCIES))
    print("static const struct {")
    print("    double inductance, coil, load, capacitance; // H, ohm, ohm, F")
    print("    double level[%d];                            // dB re low frequencies" % len(FREQUENCIES))
    print("    double corner, noise_flat, noise_riaa;      // Hz, V, V at 298.15 K")
    print("    double flat;                                // F, the maximally flat load")
    print("} vectors[] = {")
    for network in NETWORKS:
        levels = ", ".join("%.6f" % level(network, f) for f in FREQUENCIES)
        print("    {%.10g, %.10g, %.10g, %.10g, {%s}, %.3f, %.6e, %.6e, %.6e}," % (
            *network, levels, corner(network), noise(network, False), noise(network, True),
            flat(network)))
    print("};")


if __name__ == "__main__":
    main()
