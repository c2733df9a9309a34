// SPDX-License-Identifier: MIT
// The best assignment of the stretches of a side to the bands of its plan, in order.
#ifndef DW_MEASURE_SIDE_ORDER_H
#define DW_MEASURE_SIDE_ORDER_H

#include "measure/side/side_match.h"

typedef struct DwSideOrder DwSideOrder;

// COUNT stretches, none of them silence, and PLAN: both are to outlive it. The caller frees it with
// dw_side_order_free().
DwSideOrder *dw_side_order_new(const DwSideSegment *segments, size_t count, const DwBandPlan *plan);
void dw_side_order_free(DwSideOrder *order);

// Finds the best assignment under GUESS. Returned: its score, about 1 for each band that fits in every respect.
//
// Method: dynamic programming over stretches and bands. What follows on what is held against the plan's gaps, with
// any of the bands between played unheard; stretches and bands may be left out.
double dw_side_order_find(DwSideOrder *order, const DwSideGuess *guess);

// Which band takes which stretches.
typedef struct {
    size_t band, first, count;
} DwSideTaken;

// What the assignment found last takes, the last band first; TAKEN has room for every band. Returned: how many.
size_t dw_side_order_taken(const DwSideOrder *order, DwSideTaken *taken);

// Puts into one group the bands of ALIGNMENT of which nothing tells which were played: where what is heard fits the
// plan within 0.05 as well with one that is missing as with the one near it that was found.
void dw_side_order_tell_alike(const DwSideOrder *order, DwSideGuess guess, DwSideAlignment *alignment);

#endif
