// SPDX-License-Identifier: MIT
// Which clock a line of the slow fit keeps step with: the recording's time, or the groove that passed.
#ifndef DW_MEASURE_SPEED_CLOCK_H
#define DW_MEASURE_SPEED_CLOCK_H

#include "measure/speed/slow_series.h"

// The clock that a line near *RATE_HZ, not in FIT yet, keeps step with; the groove's where both do. *RATE_HZ is set to
// where it shows the most.
size_t dw_clock_of(const DwSlowSeries *series, const DwLineFit *fit, double *rate_hz);
// Asks again for each line of FIT but the platter's, with the lines beside it there: one that was chosen while they
// were not may be the other clock's, and then bends what lies beside it.
void dw_clock_choose(const DwSlowSeries *series, DwLineFit *fit);

#endif
