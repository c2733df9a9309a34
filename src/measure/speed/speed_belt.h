// SPDX-License-Identifier: MIT
// What a belt that may turn nearly as often as the platter leaves of what comes once a turn, by how likely such a belt
// is.
#ifndef DW_MEASURE_SPEED_BELT_H
#define DW_MEASURE_SPEED_BELT_H

#include "measure/speed/slow_series.h"

// What such a belt adds, in quadrature, to the half-widths of the 95 % interval by noise alone.
typedef struct {
    double amplitude[2]; // once and twice a turn, %
    double phase;        // at the reading asked for, radians
    double rate_hz;
} DwBeltDoubt;

// Given: FIT of SERIES, whose line 0 is the platter's; VARIANCE of a sample's noise about it; READING of the groove's
// clock, for the phase. Returned: nothing but zeros where a line shows the belt, or SETTINGS describe a drive without
// one.
// Method: a distribution propagated by drawing from it (JCGM 101:2008). Beforehand a drive that is not described has a
// belt with a chance of 0.55; its rate is that of a belt about rims, pulleys and distances as they are built, each as
// likely as the other, or the one described; its swing is between 0.01 and 0.1 %, its second harmonic's half of that
// (sizes and chance: common practice, no source). Each is weighed by the samples.
DwBeltDoubt dw_speed_belt_doubt(const DwSlowSeries *series, const DwLineFit *fit, double variance, double reading,
                                const DwSpeedSettings *settings);

#endif
