// SPDX-License-Identifier: MIT
// Which slow line is the platter's: where the tone leads to expect it, and what else may have been taken for it.
#ifndef DW_MEASURE_SPEED_PLATTER_H
#define DW_MEASURE_SPEED_PLATTER_H

#include "measure/speed/slow_series.h"

// Standard uncertainties from which on a line is there.
extern const double dw_platter_shows;

// Where the platter is expected to turn.
typedef struct {
    double turn_hz, tolerance; // relative; NAN: its rate was found already
    const DwSpeedSettings *settings;
} DwPlatterAsked;

// How far, relatively, the platter's rate may lie off what the tone leads to expect.
double dw_platter_tolerance(const DwSpeedSettings *settings);
// A line of the platter at RATE_HZ for a fit to begin with, EXPECTED_HZ within TOLERANCE (NAN: nothing is known).
DwLine dw_platter_line(double rate_hz, double expected_hz, double tolerance);

// Where line 0 of FIT has gone over to a stronger line beside it (a belt turns nearly as fast), and one is where the
// tone leads to expect the platter's, or is found there once looked for: the two change places. Where the drive is
// described and the line is its belt's, idler's or motor's, they do so whether or not the platter's is heard.
void dw_platter_claim(const DwLineSamples *samples, const DwPlatterAsked *asked, DwLineFit *fit);

// The strongest line of ANALYSIS that is where the platter's would be, were another usual tone or speed what is heard,
// and that no described part makes at the speed stated; 0 without one.
double dw_platter_elsewhere(const DwSpeedAnalysis *analysis, double engraved_hz, const DwSpeedSettings *settings);

#endif
