// SPDX-License-Identifier: MIT
// One window of two recordings held against each other.
#ifndef DW_MEASURE_TWIN_WINDOW_H
#define DW_MEASURE_TWIN_WINDOW_H

#include "measure/music/twin_path.h"

typedef struct DwTwinWindow DwTwinWindow;

typedef struct {
    double late_s;  // the second stands later than was thought
    double delay;   // the same in samples of the first
    double quality; // 0 … 1
    double sign;    // of the correlation's peak
} DwTwinMatch;

// Where the second is read for a place of the first: a parabola around the window's middle.
typedef struct {
    double at_s, other_s, ratio;
    double bend; // half of how fast the ratio grows [1/s]
} DwTwinGuess;

// Windows of about LENGTH_S of ONE and TWO that are held against each other up to REACH_S apart. The caller frees it
// with dw_twin_window_free().
DwTwinWindow *dw_twin_window_new(const DwTwinSound *one, const DwTwinSound *two, double length_s, double reach_s);
void dw_twin_window_free(DwTwinWindow *window);
// How long they really are.
double dw_twin_window_length_s(const DwTwinWindow *window);
// Looks within REACH_S of GUESS, no farther than was said at the beginning. Returned: false where there is no sound, or
// the window lies outside.
bool dw_twin_window_match(DwTwinWindow *window, const DwTwinGuess *guess, double reach_s, DwTwinMatch *match);
// Adds the window last matched, at the delay that was found, to the phase that all have in common.
void dw_twin_window_learn(DwTwinWindow *window, const DwTwinMatch *match);
// From now on takes out the phase learnt.
void dw_twin_window_settle(DwTwinWindow *window);

#endif
