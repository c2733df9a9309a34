// SPDX-License-Identifier: MIT
#include "physics/resonance.h"

#include <assert.h>
#include <complex.h>
#include <math.h>

// A gram on 1 µm/mN = 1e-3 m/N makes MC = 1e-6 s².
static double product(double frequency_hz)
{
    double omega = 2 * M_PI * frequency_hz;
    return 1e6 / (omega * omega);
}

double dw_resonance_hz(double mass_g, double compliance)
{
    assert(mass_g > 0 && compliance > 0);
    return 1e3 / (2 * M_PI * sqrt(mass_g * compliance));
}

double dw_resonance_mass_g(double frequency_hz, double compliance)
{
    return product(frequency_hz) / compliance;
}

double dw_resonance_compliance(double frequency_hz, double mass_g)
{
    return product(frequency_hz) / mass_g;
}

DwComplianceBand dw_resonance_compliance_at_10hz(double compliance, double stated_hz)
{
    double low = 1, likely = 1, high = 1;
    if (isnan(stated_hz)) {
        low = 0.4;
        high = 2;
    } else if (stated_hz < 1) {
        low = 0.4;
        likely = 0.5;
    } else {
        double decades = log10(stated_hz / 10);
        double mild = pow(1.5, decades), strong = pow(2, decades);
        low = fmin(mild, strong);
        high = fmax(mild, strong);
        likely = sqrt(low * high);
    }
    return (DwComplianceBand){compliance * low, compliance * likely, compliance * high};
}

double dw_resonance_output_db(double frequency_hz, double resonance_hz, double q)
{
    double x = frequency_hz / resonance_hz;
    return 20 * log10(x * x / hypot(1 - x * x, x / q));
}

bool dw_resonance_peak(double resonance_hz, double q, double *peak_db, double *peak_hz)
{
    double shape = 1 - 1 / (2 * q * q);
    if (shape <= 0)
        return false;
    *peak_db = 20 * log10(q / sqrt(1 - 1 / (4 * q * q)));
    *peak_hz = resonance_hz / sqrt(shape);
    return true;
}

double dw_resonance_warp_force_mn(double mass_g, double resonance_hz, double q, double height_mm, double frequency_hz)
{
    double x = frequency_hz / resonance_hz;
    double omega = 2 * M_PI * frequency_hz;
    double gain = cabs((1 + I * x / q) / (1 - x * x + I * x / q));
    return mass_g * height_mm * 1e-3 * omega * omega * gain; // g·m/s² = mN
}

bool dw_resonance_from_two(double plain_hz, double loaded_hz, double added_g, double error_hz, DwResonanceFound *found)
{
    if (loaded_hz >= plain_hz)
        return false;
    double ratio = plain_hz / loaded_hz;
    double excess = ratio * ratio - 1;
    double mass = added_g / excess;
    double compliance = dw_resonance_compliance(plain_hz, mass);
    // dM/M = −2 r² (df₀/f₀ − df₁/f₁)/(r² − 1); dC/C = −dM/M − 2 df₀/f₀.
    double mass_by_plain = -2 * ratio * ratio / excess / plain_hz;
    double mass_by_loaded = 2 * ratio * ratio / excess / loaded_hz;
    *found = (DwResonanceFound){
        .mass_g = mass,
        .mass_deviation_g = mass * error_hz * hypot(mass_by_plain, mass_by_loaded),
        .compliance = compliance,
        .compliance_deviation = compliance * error_hz * hypot(mass_by_plain + 2 / plain_hz, mass_by_loaded),
    };
    return true;
}
