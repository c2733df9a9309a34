// SPDX-License-Identifier: MIT
// Holds back what came late until it is known whether any sound was lost before it,
// so that nothing is ever measured across a hole that was not noticed. Of live_session only.
#ifndef DW_PROCEDURE_LIVE_INTAKE_H
#define DW_PROCEDURE_LIVE_INTAKE_H

#include "audio/source.h"
#include "measure/live/loss_watch.h"

typedef struct {
    DwLossWatch watch;
    double rate_hz, delivered; // frames a second; frames that came in all
    uint64_t counted;          // which of the device's counts was noted last
    unsigned channels;
    float *held; // frames that came late
    size_t held_frames, room;
} DwLiveIntake;

// Begins anew with a device of RATE_HZ and CHANNELS; what was held is let go. *INTAKE is all zero before the first.
void dw_live_intake_start(DwLiveIntake *intake, double rate_hz, unsigned channels);
// Frees what is held and leaves *INTAKE all zero.
void dw_live_intake_clear(DwLiveIntake *intake);
// What the device has counted, before its next block is taken; NULL for one that does not
// count. Returned: whether it is news.
bool dw_live_intake_count(DwLiveIntake *intake, const DwSourceTally *tally);
// FRAMES frames of BLOCK came by NOW_S; HOLE: the device says that some are missing before
// them. Returned: with DW_LOSS_LATE the block was put to the held ones; else the held ones
// are to be measured first, after a break of *LOST_S with DW_LOSS_FOUND, and then let go.
DwLossVerdict dw_live_intake_take(DwLiveIntake *intake, double now_s, const float *block, size_t frames, bool hole,
                                  double *lost_s);

#endif
