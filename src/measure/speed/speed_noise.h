// SPDX-License-Identifier: MIT
// The recording's own noise, and what it adds to a speed deviation.
#ifndef DW_MEASURE_SPEED_NOISE_H
#define DW_MEASURE_SPEED_NOISE_H

#include "dsp/fir.h"
#include "measure/speed/speed_analysis.h"

// The density of the noise beside the tone, one-sided, over the tone's power as the square
// of its AMPLITUDE; 1/Hz. From values [FROM, TO) of RUN.
// Method: the middle of the amplitude's spectrum from 60 to 250 Hz, which a line of hum
// or a swing of the level does not move.
double dw_speed_noise_density(const DwDemodulator *demodulator, const DwToneRun *run, const unsigned char *used,
                              size_t from, size_t to, double amplitude);

// The density at F Hz of the noise in the deviation, one-sided; %²/Hz.
double dw_speed_noise_at(const DwSpeedAnalysis *analysis, double f);
// The rms that the noise alone reads in the deviation of ANALYSIS, 0.2 to 200 Hz; %.
double dw_speed_noise_rms(const DwSpeedAnalysis *analysis, bool weighted);

// Mean squares in %²: of all, of the noise, and the variance that the noise leaves in
// the mean square once its own is taken out.
typedef struct {
    double power, noise, variance;
    double kept; // of the noise, beside lines
} DwNoiseBudget;

// A filter that takes the noise's power out of the deviation at each frequency, so that
// what is left is spread as without it. No taps where there is nothing worth taking out.
// Accuracy: the power of what stays is right on the mean; where the noise is most of it, it
// stays uncertain by the budget's variance.
// Reference: spectral subtraction, S. F. Boll, IEEE Trans. ASSP-27 (1979) 113–120 (from memory).
DwFir dw_speed_noise_filter(const DwSpeedAnalysis *analysis, DwNoiseBudget *weighted, DwNoiseBudget *unweighted);

#endif
