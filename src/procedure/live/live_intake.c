// SPDX-License-Identifier: MIT
#include "procedure/live/live_intake.h"

#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

void dw_live_intake_start(DwLiveIntake *intake, double rate_hz, unsigned channels)
{
    dw_live_intake_clear(intake);
    *intake = (DwLiveIntake){.rate_hz = rate_hz, .channels = channels};
    dw_loss_watch_start(&intake->watch, rate_hz);
}

void dw_live_intake_clear(DwLiveIntake *intake)
{
    free(intake->held);
    *intake = (DwLiveIntake){0};
}

bool dw_live_intake_count(DwLiveIntake *intake, const DwSourceTally *tally)
{
    if (!tally || tally->count == intake->counted)
        return false;
    intake->counted = tally->count;
    dw_loss_watch_count(&intake->watch, tally->time_s, tally->frames);
    return true;
}

DwLossVerdict dw_live_intake_take(DwLiveIntake *intake, double now_s, const float *block, size_t frames, bool hole,
                                  double *lost_s)
{
    intake->delivered += (double)frames;
    DwLossVerdict verdict = dw_loss_watch_push(&intake->watch, now_s, intake->delivered, hole, lost_s);
    if (verdict != DW_LOSS_LATE)
        return verdict;
    if (intake->held_frames + frames > intake->room) {
        intake->room = 2 * (intake->held_frames + frames);
        intake->held = dw_memory_resize(intake->held, intake->room * intake->channels, sizeof *intake->held);
    }
    memcpy(intake->held + intake->held_frames * intake->channels, block, frames * intake->channels * sizeof *block);
    intake->held_frames += frames;
    return verdict;
}
