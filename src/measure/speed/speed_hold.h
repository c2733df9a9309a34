// SPDX-License-Identifier: MIT
// How a speed holds over minutes: how a deck warms up, and whether it leaves its speed for some turns and comes back.
#ifndef DW_MEASURE_SPEED_HOLD_H
#define DW_MEASURE_SPEED_HOLD_H

#include <stdbool.h>
#include <stddef.h>

// The speed of each turn against the mean, %; NAN where it was masked.
typedef struct {
    double *seconds; // its middle, from the first
    double *percent;
    size_t count;
} DwTurns;

// v(t) = final + by·e^(−t/constant), or final + slope·t where that fits as well. Half-widths are those of 95 %.
typedef struct {
    bool settles; // the exponential says clearly more than the line
    double final, by, constant_s, constant_off_s;
    double settled_s,
        settled_off_s;         // until it is within the stated distance of its final speed; 0 ± 0 when it begins there
    double slope, slope_off;   // % a minute
    double change, change_off; // from the first turn to the last, by that law
} DwWarming;

// Given: TURNS, at least 12 of them, and WITHIN (%). Returned: false below that.
// Method: for each of many time constants, linear least squares; the best one, and as its interval those that leave
// little more. What is left over is not white: its correlation from turn to turn widens all intervals.
// Reference: profile likelihood, D. M. Bates and D. G. Watts, "Nonlinear Regression Analysis" (1988), 6 (from memory);
// effective number of values (1 − r)/(1 + r), any textbook of time series.
bool dw_warming_fit(const DwTurns *turns, double within, DwWarming *warming);
// What that law says at SECONDS, %.
double dw_warming_at(const DwWarming *warming, double seconds);

// Some turns away from the speed before and after.
typedef struct {
    double from_s, to_s, by; // %: the farthest turn
} DwExcursion;

enum { DW_EXCURSIONS_MOST = 50 };

// Turns that lie off WARMING's law for two or more turns and come back before the end. Returned: how many.
size_t dw_excursions_find(const DwTurns *turns, const DwWarming *warming, DwExcursion excursions[DW_EXCURSIONS_MOST]);

#endif
