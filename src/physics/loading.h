// SPDX-License-Identifier: MIT
// A magnetic cartridge into its load: a generator with resistance and
// inductance in series, loaded by a resistance and a capacitance in parallel.
#ifndef DW_PHYSICS_LOADING_H
#define DW_PHYSICS_LOADING_H

#include <stdbool.h>

typedef struct {
    double inductance_h;
    double resistance_ohm;      // of the coil, with whatever is in series with it
    double load_resistance_ohm; // what the cartridge sees
    double load_capacitance_f;  // arm wire, lead and input together
} DwLoading;

// What the network's second-order response is made of.
typedef struct {
    double natural_hz;
    double q;
    double divider_db; // loss of the load against an open circuit at low frequencies, ≤ 0
} DwLoadingShape;

// Given: the network, all of it above zero.
// Returned: ω₀² = (1 + R/R_L)/(LC), Q = ω₀/(R/L + 1/(R_L C)), divider R_L/(R_L + R).
// Accuracy: exact for lumped parts; the inductance of a real coil falls and its
// resistance rises with frequency, which is not in it.
// Reference: the voltage divider Z/(Z + R + sL) with Z = R_L/(1 + sR_L C); National
// Semiconductor, application note AN-346, for the resonance itself.
DwLoadingShape dw_loading_shape(const DwLoading *loading);

// The response at FREQUENCY_HZ relative to low frequencies [dB].
double dw_loading_response_db(const DwLoading *loading, double frequency_hz);
// The highest point of the response; false where it only falls (Q ≤ 1/√2).
bool dw_loading_peak(const DwLoading *loading, double *peak_db, double *peak_hz);
// Where the response has fallen to −3.0103 dB (half power) below low frequencies [Hz].
double dw_loading_corner_hz(const DwLoading *loading);

// The load capacitance, and the load resistance, that makes the response
// maximally flat (Q = 1/√2), the rest of LOADING as it is.
// Returned: [F], [ohm]; NAN where the coil's resistance leaves none.
// Accuracy: closed form.
// Reference: Q² = ½ solved; S. Butterworth, "On the Theory of Filter
// Amplifiers", Experimental Wireless, 1930, for the shape.
double dw_loading_flat_capacitance_f(const DwLoading *loading);
double dw_loading_flat_resistance_ohm(const DwLoading *loading);

// A stylus's own resonance against the record, as a second-order low-pass of
// groove velocity; frequency_hz 0: none.
typedef struct {
    double frequency_hz, q;
} DwLoadingTip;

// The tip's response at FREQUENCY_HZ relative to low frequencies [dB]; 0 without one.
double dw_loading_tip_db(const DwLoadingTip *tip, double frequency_hz);
// The greatest departure from the low-frequency level between 20 Hz and TOP_HZ,
// tip and network together [dB, ≥ 0].
double dw_loading_departure_db(const DwLoading *loading, const DwLoadingTip *tip, double top_hz);
// The load capacitance with the least such departure, between LOW_F and HIGH_F.
// Accuracy: 0.01 pF or better of the least on a scan of 400 steps and then golden section.
double dw_loading_least_departure_f(const DwLoading *loading, const DwLoadingTip *tip, double top_hz, double low_f,
                                    double high_f);

// What a transformer 1:RATIO between cartridge and input makes of LOADING, whose
// capacitance lies behind it, as seen from the cartridge. WIRE_F stays in front.
// Accuracy: exact for an ideal transformer.
DwLoading dw_loading_through_transformer(DwLoading loading, double ratio, double wire_f);

// The ratio of the transformer that brings OUTPUT_V at the coil to WANTED_V at
// the input, loss included.
// Given: coil_ohm, input_ohm: behind the transformer; both voltages [V].
// Returned: the smaller of the two ratios that do; NAN when none reaches it
// (the most is had at √(input/coil)).
// Accuracy: exact for an ideal transformer at low frequencies.
// Reference: n·R_L/(n²R + R_L) = wanted/output solved for n.
double dw_loading_step_up_ratio(double output_v, double wanted_v, double coil_ohm, double input_ohm);

#endif
