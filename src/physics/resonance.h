// SPDX-License-Identifier: MIT
// The resonance of an arm's mass on the compliance of its cartridge. Masses in
// g, compliance in µm/mN (the trade's unit, 10⁻⁶ cm/dyn).
#ifndef DW_PHYSICS_RESONANCE_H
#define DW_PHYSICS_RESONANCE_H

#include <stdbool.h>

// Given: mass_g: all that moves, referred to the stylus; compliance.
// Returned: 1/(2π√(MC)) [Hz].
// Accuracy: exact without damping.
// Reference: R. E. Carlson, "Resonance, Tracking, and Distortion – An Analysis
// of Phonograph Pickup Arms", Journal of the Audio Engineering Society, 1954.
double dw_resonance_hz(double mass_g, double compliance);
// The mass that resonates at FREQUENCY_HZ with COMPLIANCE, and the other way.
double dw_resonance_mass_g(double frequency_hz, double compliance);
double dw_resonance_compliance(double frequency_hz, double mass_g);

// A compliance at 10 Hz, between two bounds.
typedef struct {
    double low, likely, high;
} DwComplianceBand;

// A stated compliance as it is near 10 Hz, where the resonance lies.
// Given: compliance as stated, at stated_hz (0: static, by deflection; NAN: the
// sheet does not say).
// Returned: the band. From 100 Hz ×1.5 … ×2; static ×0.4 … ×1, likely ½; from
// 10 Hz ×1; between, the factor follows the frequency's power. Unsaid: all of these.
// Accuracy: there is no exact factor: elastomers stiffen with frequency, each
// after its kind. The band spans what published data pairs show.
// Reference: the ½ and 2 from a magazine article on compliance; 1.5 from memory;
// the static bounds from one pair of published sheets (dynamic 18 and 9 at
// 100 Hz, static 35 both), which contradict each other.
DwComplianceBand dw_resonance_compliance_at_10hz(double compliance, double stated_hz);

// The cartridge's output for a groove that moves, relative to well above the
// resonance: x²/|1 − x² + jx/Q| with x = f/f₀.
// Accuracy: exact for one resonance damped across its suspension.
// Reference: derived from the second-order equation of motion.
double dw_resonance_output_db(double frequency_hz, double resonance_hz, double q);
// The highest point of that response [dB] and where it lies; false when Q is at
// most 1/√2, where there is none.
bool dw_resonance_peak(double resonance_hz, double q, double *peak_db, double *peak_hz);

// The force a warp adds and takes.
// Given: mass_g, resonance_hz, q; the warp: height_mm peak, at frequency_hz.
// Returned: M a (2πf)²·|(1 + jx/Q)/(1 − x² + jx/Q)| [mN], peak.
// Accuracy: exact for one resonance damped across its suspension.
// Reference: derived from the second-order equation of motion.
double dw_resonance_warp_force_mn(double mass_g, double resonance_hz, double q, double height_mm, double frequency_hz);

typedef struct {
    double mass_g, mass_deviation_g;         // without the added mass
    double compliance, compliance_deviation; // at the resonance
} DwResonanceFound;

// Mass and compliance from two resonances, without and with a known mass.
// Given: plain_hz, loaded_hz [Hz] each with standard deviation error_hz;
// added_g: the added effective mass [g].
// Returned: false when the loaded resonance is not the lower one. Else M =
// m/((f₀/f₁)² − 1) and C from f₀, with first-order standard deviations.
// Accuracy: exact when the compliance is the same at both frequencies.
// Reference: two equations (2πf)²·C·M = 1 in two unknowns.
bool dw_resonance_from_two(double plain_hz, double loaded_hz, double added_g, double error_hz, DwResonanceFound *found);

#endif
