// SPDX-License-Identifier: MIT
// What a response is made of: the cartridge's treble resonance, and equalisation that is off.
#ifndef DW_MEASURE_RESPONSE_FIT_H
#define DW_MEASURE_RESPONSE_FIT_H

#include "measure/sweep/response_analysis.h"

enum { DW_RESPONSE_TAUS = 3 }; // 3180, 318 and 75 µs

typedef struct {
    double resonance_hz, resonance_off_hz; // of the treble; OFF: the 95 % half-width
    double q, q_off;
    double tau[DW_RESPONSE_TAUS], tau_off[DW_RESPONSE_TAUS];   // of the chain over the nominal ones, less 1
    double tau_covariance[DW_RESPONSE_TAUS][DW_RESPONSE_TAUS]; // of their logarithms
    double rest_db;                                            // rms of what is left
} DwResponseFit;

// Fits LINE, counted over its level at 1 kHz: a second-order low-pass (coil and load, or stylus and record), a loss
// that grows as the frequency squared (a worn tip), the arm's tail, which falls as it, and time constants of the
// replay curve that are off by a share each. EQUALISED: the chain has a replay curve of its own to be off. Returned:
// false where the line does not reach from 200 Hz to 10 kHz. Accuracy: ± holds the cut's unevenness. A loss and a
// resonance beyond the sweep's end are alike: then ± is wide.
bool dw_response_fit(const DwResponseLine *line, bool equalised, DwResponseFit *fit);

// The load of a coil of INDUCTANCE_H and RESISTANCE_OHM that has this resonance and Q, all of it the loading's.
// Returned: false where none has. Reference: derived from physics/loading.h's shape, solved for C and R_L.
bool dw_response_load_of(double resonance_hz, double q, double inductance_h, double resistance_ohm,
                         double *capacitance_f, double *load_ohm);

// The time constants that FITS, of one chain, say together: of sweeps of their own each, which are cut unevenly each by
// its own, so that two tell more than one; what was expected beforehand, and what is off of one time constant for
// another's sake, count once. OFF: the 95 % half-widths. Reference: the mean of estimates weighted by the inverse of
// their covariance, JCGM 102:2011, 6 (from memory).
void dw_response_fit_join(const DwResponseFit *const fits[2], double tau[DW_RESPONSE_TAUS],
                          double off[DW_RESPONSE_TAUS]);

// Adds what the fits of LEFT and RIGHT (NULL: not there) say to SHEET.
void dw_response_say_fit(const DwResponse *response, const DwResponseLine *left, const DwResponseLine *right,
                         DwSheet *sheet);

#endif
