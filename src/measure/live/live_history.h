// SPDX-License-Identifier: MIT
// The speed of the last ten minutes, a value a second.
#ifndef DW_MEASURE_LIVE_HISTORY_H
#define DW_MEASURE_LIVE_HISTORY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { DW_LIVE_SECONDS = 600 };

// Second t of what was heard is percent[t % DW_LIVE_SECONDS]: the mean off nominal, NAN where there was none.
// All zero before the first.
typedef struct {
    uint64_t ended; // seconds that are over
    double passed_s, sum;
    unsigned count;
    float percent[DW_LIVE_SECONDS];
} DwLiveHistory;

// STEP_S went by with a speed of PERCENT off nominal, NAN for none.
void dw_live_history_push(DwLiveHistory *history, double step_s, double percent);
// The oldest second still held.
uint64_t dw_live_history_first(const DwLiveHistory *history);

#endif
