// SPDX-License-Identifier: MIT
// A line so near to the platter's that no spectrum of the take shows two: the fit parts them where the samples tell it.
#ifndef DW_MEASURE_SPEED_NEIGHBOUR_H
#define DW_MEASURE_SPEED_NEIGHBOUR_H

#include "measure/speed/slow_series.h"

typedef enum {
    DW_NEIGHBOUR_NONE,     // one line accounts for what comes once a turn
    DW_NEIGHBOUR_PARTED,   // two do, and stand in the fit
    DW_NEIGHBOUR_HIDDEN,   // two may, but the take is too short to tell them
    DW_NEIGHBOUR_OTHERWISE // neither does: the speed jumped or bent, or more than two are there
} DwNeighbour;

// Fits the line beside the platter's that FIT holds already, if one, from new beginnings where that is better: from
// where the two were found, one after the other, a fit may end where neither is.
void dw_neighbour_anew(const DwSlowSeries *series, DwLineFit *fit);
// Looks into FIT, which holds all other lines, for one beside the platter's. *OTHER, where two lines account for it:
// the fit of both, the neighbour last. *LEFT_PERCENT, unless one line does: the strongest of what it leaves about
// itself, % peak.
DwNeighbour dw_neighbour_part(const DwSlowSeries *series, DwLineFit *fit, DwLineFit *other, double *left_percent);

#endif
