// SPDX-License-Identifier: MIT
// What is common to all held partials and comes at a steady rate: one joint fit of lines to their courses.
#ifndef DW_MEASURE_HELD_FIT_H
#define DW_MEASURE_HELD_FIT_H

#include "dsp/shares.h"
#include "measure/music/partial_course.h"

#include <stdbool.h>

enum { DW_HELD_LINES_MOST = 8 };

// A line that is looked for, and what was found of it.
typedef struct {
    double low_hz, high_hz; // where it is looked for; alike: a rate that is known
    double rate_hz;         // where it is strongest
    double tried;           // how many rates that could be told apart were tried
    DwVector vector;        // peak, %, at the fit's middle
    double amplitude;       // %
    double off;             // half-width of the 95 % interval along the vector
    double widest_off;      // and across all directions
    double freedom;         // degrees of freedom behind it
    double chance;          // that nothing at all would show as much somewhere between low and high
} DwHeldLine;

typedef struct {
    DwPartialCourse *courses;
    size_t count, notes;
    double from_s, to_s, middle_s; // of all of them
    DwHeldLine line[DW_HELD_LINES_MOST];
    size_t lines;
} DwHeldFit;

// Fits the lines of FIT one after another, the later ones with the earlier in place, and then all at once. Lines after
// the first that have no range (low_hz is 0) come at order times the first's rate, ORDER being their number from 1.
// SETTLED: there is no other line, so that each one's rate is looked for with all the others in place; a belt near the
// turn would draw it off. While lines are only tried, one could take another's place.
//
// Method: each partial has an offset and a slope of its own, which are projected out. A partial weighs by the inverse
// of its own power density at rates beside the line's, found with all the lines taken out, in four rounds. ±: half by
// that density, half by leaving out one note, or one stretch of two turns, at a time, whichever tells more; Student's
// t. Reference: delete-one-group jackknife, e.g. MacKinnon and White, J. Econometrics 29 (1985) 305–325 (from memory).
void dw_held_fit_run(DwHeldFit *fit, bool settled);

#endif
