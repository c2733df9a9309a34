// SPDX-License-Identifier: MIT
#include "measure/live/live_pictures.h"

#include <math.h>

void dw_live_history_push(DwLiveHistory *history, double step_s, double percent)
{
    if (isfinite(percent)) {
        history->sum += percent;
        history->count++;
    }
    history->passed_s += step_s;
    if (history->passed_s < 1 - step_s / 2) // a second is a whole number of steps
        return;
    history->percent[history->ended++ % DW_LIVE_SECONDS] =
        history->count ? (float)(history->sum / history->count) : NAN;
    history->passed_s = history->sum = 0;
    history->count = 0;
}

uint64_t dw_live_history_first(const DwLiveHistory *history)
{
    return history->ended > DW_LIVE_SECONDS ? history->ended - DW_LIVE_SECONDS : 0;
}
