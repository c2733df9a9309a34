// SPDX-License-Identifier: MIT
// Places for labels: flown like pennants from stems above a plot, or standing
// at the ends of its lines, and never over one another.
#ifndef DW_CHART_PENNANT_H
#define DW_CHART_PENNANT_H

#include <stdbool.h>
#include <stddef.h>

// A label WIDTH wide on a stem at X. It flies in a lane (0 is the lowest) to
// the right of its stem or to the left; stems cross no other label.
typedef struct {
    double x, width;
    size_t lane;
    bool to_left;
    bool placed; // false: no room was left for it
} DwPennant;

// Places COUNT pennants, the most important first, between LEFT and RIGHT in
// LANES lanes with GAP between neighbours.
void dw_pennant_place(DwPennant *pennants, size_t count, double left, double right, size_t lanes, double gap);

// Moves COUNT heights apart until neighbours are at least GAP apart, as little
// as may be, within LOW to HIGH (from LOW on when that is too narrow); their
// order stays.
void dw_pennant_spread(double *heights, size_t count, double gap, double low, double high);

#endif
