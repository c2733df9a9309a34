// SPDX-License-Identifier: MIT
// From values to places on a page, and the round numbers written along it.
#ifndef DW_CHART_SCALE_H
#define DW_CHART_SCALE_H

#include "base/quantity.h"

// Values `low` to `high` lie at places `from` to `to` (which may run backwards).
typedef struct {
    double low, high;
    double from, to;
    bool logarithmic; // low > 0 then
} DwScale;

enum { DW_SCALE_TICKS_MOST = 48 };

typedef struct {
    size_t count;
    double at[DW_SCALE_TICKS_MOST];
    int digits; // decimals that all of them need; -1: each its own
} DwTicks;

// No value at all yet; and that range widened to hold VALUE (NAN is passed over).
DwRange dw_scale_nothing(void);
DwRange dw_scale_widen(DwRange range, double value);
bool dw_scale_holds_something(DwRange range);

// A scale for the values of RANGE with MARGIN (a share of its span) left free
// at both ends; a single value gets room around it, nothing becomes 0 to 1.
// Values beyond ±1e300 are held there so that spans stay finite.
DwScale dw_scale_linear(DwRange range, double margin, double from, double to);
// The same in decades; RANGE must be positive or empty (then 1 to 10). An end
// within 5 % of a tick lies at it.
DwScale dw_scale_logarithmic(DwRange range, double from, double to);

// The place of VALUE (finite), held within a scale's length beyond either end.
double dw_scale_place(const DwScale *scale, double value);

// About WANTED round values within SCALE: 1, 2 or 5 times a power of ten apart;
// on a logarithmic scale 1, 2 and 5 of each decade.
DwTicks dw_scale_ticks(const DwScale *scale, size_t wanted);

// The smallest of 1, 1.5, 2, 3, 4, 5, 6, 8 times a power of ten that is not less than VALUE > 0.
double dw_scale_round_up(double value);

#endif
