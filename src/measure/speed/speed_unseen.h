// SPDX-License-Identifier: MIT
// What a belt beside the platter that shows nowhere could have of what comes once a turn, in a take too short to tell.
#ifndef DW_MEASURE_SPEED_UNSEEN_H
#define DW_MEASURE_SPEED_UNSEEN_H

#include "measure/speed/slow_series.h"

typedef struct {
    double amplitude_off[2]; // half-widths about the fit's, once and twice a turn, % peak
    double phase_off;        // of its phase at the reading asked for, radians, π at most
    double rate_off_hz;      // of its rate
} DwUnseen;

// Given: FIT of SERIES, whose line 0 is the platter's; VARIANCE of a sample's noise about its two harmonics; READING of
// the groove's clock, for the phase. Returned: how far the platter's may be off were there a part beside it as near as
// a belt comes: the union, over that part's rate from 0.8 % off the platter's to where a spectrum shows it, of what
// the normal equations of both lines leave, where they explain the samples as well as the best of them.
// Nothing where one stands beside it: then FIT is of both.
// Reference: profile likelihood; D. M. Bates and D. G. Watts, "Nonlinear Regression Analysis" (1988) – from memory.
DwUnseen dw_unseen_beside(const DwSlowSeries *series, const DwLineFit *fit, const double variance[2], double reading);
// The length of a take, seconds, that would know the amplitude of PLATTER within a tenth, where one of SPAN_S knows it
// within AMPLITUDE_OFF.
double dw_unseen_wanted_s(const DwLine *platter, double span_s, double amplitude_off);

#endif
