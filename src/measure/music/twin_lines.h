// SPDX-License-Identifier: MIT
// What swings in the course of one recording against another: once and twice a turn, belts and the like. Within this
// room only.
#ifndef DW_MEASURE_TWIN_LINES_H
#define DW_MEASURE_TWIN_LINES_H

#include "measure/music/twin_fit.h"
#include "measure/music/twin_pieces.h"

// Finds the lines of WORK and puts them into FIT: the turn's two, looked for within 3 % of TURN_HZ by either
// recording's time (RATIO), and what else stands out. A long recording is asked for the turn once: FIT, cleared at
// first, keeps it. Over such the platter's own drift is followed by the line's phase.
void dw_twin_lines_find(DwTwinPieces *work, double ratio, double turn_hz, DwTwinFit *fit);
// Fits all lines found so far anew, each with the others taken out, a few times over; leaves in work->rest what is
// beside them.
void dw_twin_lines_refit(DwTwinPieces *work, double ratio, DwTwinFit *fit);
// Takes the lines out of the course itself, which keeps its straight pieces.
void dw_twin_lines_straighten(DwTwinPieces *work, double ratio, const DwTwinFit *fit);

#endif
